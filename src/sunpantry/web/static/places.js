// Names of places, offered while one is typed. They come from this machine.

const QUIET_MS = 160;
const SHORTEST = 3;
let pending = null;

export function startPlaces() {
  document.addEventListener("input", onInput);
}

function onInput(event) {
  const list = event.target.list;
  if (!list || !list.dataset.places) return;
  clearTimeout(pending);
  const typed = event.target.value.trim();
  if (typed.length < SHORTEST || [...list.options].some((one) => one.value === typed)) return;
  pending = setTimeout(() => offer(list, typed), QUIET_MS);
}

async function offer(list, typed) {
  const address = `${list.dataset.places}?q=${encodeURIComponent(typed)}`;
  const reply = await fetch(address, { headers: { accept: "application/json" } }).catch(() => null);
  if (!reply || !reply.ok) return;
  const { places } = await reply.json().catch(() => ({ places: [] }));
  list.replaceChildren(...places.map((one) => new Option(one.name, one.name)));
}
