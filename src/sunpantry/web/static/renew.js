// Take what changed out of a freshly rendered page, and leave the rest alone: open details,
// what is typed and not saved yet, and the place on the page all stay.

const PARTS = ["#bar", "#verdict", "#picture", "#main"];

// The form that was sent, and what was sent of it, where the page comes in answer to one.
export function renew(html, form = null, sent = null) {
  const fresh = new DOMParser().parseFromString(html, "text/html");
  const kept = rememberState(form, sent);
  for (const selector of PARTS) {
    const now = document.querySelector(selector);
    const next = fresh.querySelector(selector);
    if (now && next) replacePart(now, next);
  }
  const base = document.querySelector('#bar input[name="base"]')?.value;
  if (base) for (const one of document.querySelectorAll('#main input[name="base"]')) one.value = base;
  document.title = fresh.title;
  restoreState(kept);
  document.dispatchEvent(new CustomEvent("renewed"));
}

function replacePart(now, next) {
  copyAttributes(now, next);
  if (now.id !== "main") {
    if (now.innerHTML !== next.innerHTML) now.replaceChildren(...next.childNodes);
    return;
  }
  // chapter by chapter, so that what is not touched keeps its pictures
  const names = new Set([...now.children].map((one) => one.id).filter(Boolean));
  const same = [...next.children].every((one) => !one.id || names.has(one.id));
  if (!same || now.children.length !== next.children.length) {
    keepPictures(now, next);
    now.replaceChildren(...next.childNodes);
    return;
  }
  [...next.children].forEach((chapter, index) => {
    const old = now.children[index];
    if (plain(old) === plain(chapter)) return;
    keepPictures(old, chapter);
    old.replaceWith(chapter);
  });
}

// Every form carries the version it was made for; a chapter in which nothing else changed
// need not be made anew for that.
function plain(chapter) {
  return chapter.outerHTML.replaceAll(/ name="base" value="\d+"/g, "");
}

function keepPictures(now, next) {
  const old = now.querySelector(".pictures-here");
  const fresh = next.querySelector(".pictures-here");
  if (old && fresh && old.dataset.shown) {
    fresh.dataset.stale = "yes";
    fresh.replaceChildren(...old.childNodes);
  }
}

function copyAttributes(now, next) {
  for (const { name } of [...now.attributes]) if (!next.hasAttribute(name)) now.removeAttribute(name);
  for (const { name, value } of next.attributes) if (now.getAttribute(name) !== value) now.setAttribute(name, value);
}

function rememberState(form, sent) {
  const active = document.activeElement;
  const open = {};
  for (const one of document.querySelectorAll("details[data-keep]")) open[one.dataset.keep] = one.open;
  const field = active && active.id ? { id: active.id, value: active.value } : null;
  if (field && typeof active.selectionStart === "number") {
    field.start = active.selectionStart;
    field.end = active.selectionEnd;
  }
  const pressed = active && !active.id && active.matches("button, summary, a") ? active : null;
  const words = pressed ? pressed.textContent.trim() : "";
  const kind = pressed?.tagName;
  const place = active && placeOf(active);
  const spot = active && spotOf(active);
  const typed = [...document.querySelectorAll("#main input[type=text][id], #main textarea[id]")].filter(
    (one) => one.value !== one.defaultValue && !(one.form === form && sent?.get(one.name) === one.value),
  );
  return { open, field, words, kind, place, spot, typed, scroll: window.scrollY };
}

// Where in its part of the page something stands, for whatever has neither name nor words:
// whoever goes from stop to stop must not be thrown back to the top.
const STOPS = "a[href], button, summary, input, select, textarea, [tabindex]";

function spotOf(one) {
  const part = one.closest(".chapter[id], #main, #bar, #verdict, #picture");
  return part ? { part: part.id, index: [...part.querySelectorAll(STOPS)].indexOf(one) } : null;
}

function stopAt({ part, index }) {
  const stops = document.getElementById(part)?.querySelectorAll(STOPS) ?? [];
  return index < 0 ? null : stops[Math.min(index, stops.length - 1)];
}

// The row of a list that something stands in: the row stays where its button goes.
function placeOf(one) {
  const [row, chapter] = [one.closest("li"), one.closest(".chapter")];
  return row && chapter ? { chapter: chapter.id, row: [...chapter.querySelectorAll("li")].indexOf(row) } : null;
}

function rowAt(place) {
  const rows = document.getElementById(place.chapter)?.querySelectorAll("li") ?? [];
  return rows[Math.min(place.row, rows.length - 1)]?.querySelector("button, summary, a");
}

function restoreState({ open, field, words, kind, place, spot, typed, scroll }) {
  for (const one of document.querySelectorAll("details[data-keep]")) {
    if (open[one.dataset.keep]) one.open = true;
  }
  for (const { id, value } of typed) {
    const again = document.getElementById(id);
    if (!again || again.defaultValue === value) continue;
    again.value = value;
    again.dispatchEvent(new Event("input", { bubbles: true }));
  }
  let target = field && document.getElementById(field.id);
  if (!target && words) {
    target = [...document.querySelectorAll(kind)].find((one) => one.textContent.trim() === words);
  }
  if (!target && place) target = rowAt(place);
  if (!target && spot && document.activeElement === document.body) target = stopAt(spot);
  if (target && target !== document.activeElement) {
    target.focus({ preventScroll: true });
    if (field && field.start !== undefined && target.setSelectionRange && target.type === "text") {
      target.setSelectionRange(field.start, field.end);
    }
  }
  window.scrollTo({ top: scroll, behavior: "instant" });
}
