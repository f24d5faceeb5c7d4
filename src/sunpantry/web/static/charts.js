// Charts that react: the same specifications as on paper, drawn by the browser. The library
// runs in interpreter mode, because the page forbids making code out of text.

let library = null;

export function startCharts() {
  document.addEventListener("renewed", lookForPlaces);
  document.addEventListener("submit", onWinter);
  lookForPlaces();
  drawAll(document);
}

function lookForPlaces() {
  const place = document.querySelector(".pictures-here");
  if (!place || place.dataset.watched) return;
  place.dataset.watched = "yes";
  const watcher = new IntersectionObserver((seen) => {
    if (!seen.some((one) => one.isIntersecting)) return;
    watcher.disconnect();
    fill(place, place.dataset.load);
  }, { rootMargin: "300px" });
  watcher.observe(place);
}

async function fill(place, address) {
  const reply = await fetch(address, { headers: { accept: "text/html" } }).catch(() => null);
  if (!reply || !reply.ok) return;
  const fresh = new DOMParser().parseFromString(await reply.text(), "text/html");
  const pictures = fresh.querySelector("#pictures");
  if (!pictures || !place.isConnected) return;
  place.replaceChildren(pictures);
  place.dataset.shown = "yes";
  drawAll(place);
}

function onWinter(event) {
  const form = event.target;
  const place = form.closest(".pictures-here");
  if (!place || !form.matches(".winter-form")) return;
  event.preventDefault();
  const address = new URL(form.action);
  for (const [key, value] of new FormData(form)) address.searchParams.set(key, value);
  fill(place, address).then(() => {
    const again = place.querySelector(".winter-form");
    again?.scrollIntoView();
    again?.querySelector("button").focus({ preventScroll: true });
  });
}

function drawAll(within) {
  const watcher = new IntersectionObserver((seen) => {
    for (const one of seen) {
      if (!one.isIntersecting) continue;
      watcher.unobserve(one.target);
      draw(one.target);
    }
  }, { rootMargin: "200px" });
  for (const chart of within.querySelectorAll("figure[data-spec]")) watcher.observe(chart);
}

function isDark() {
  const chosen = document.documentElement.dataset.theme;
  if (chosen !== "auto") return chosen === "dark";
  return window.matchMedia("(prefers-color-scheme: dark)").matches;
}

async function draw(figure) {
  const narrow = window.matchMedia("(max-width: 40rem)").matches;
  const address = figure.dataset.spec + (isDark() ? "&theme=dark" : "") + (narrow ? "&narrow=yes" : "");
  try {
    const [reply, embed] = await Promise.all([fetch(address), load()]);
    if (!reply.ok) return;
    const { spec, alt, values } = await reply.json();
    const place = document.createElement("div");
    place.className = "chart-here";
    const options = { ast: true, actions: false, defaultStyle: false, renderer: "svg", tooltip: { disableDefaultStyle: true } };
    const made = await embed(place, spec, options);
    const old = figure.querySelector(".chart-here");
    if (old) old.replaceWith(place);
    const drawn = place.querySelector("svg");
    if (drawn) {
      drawn.setAttribute("role", "img");
      drawn.setAttribute("aria-label", alt);
      // one picture with one description: its pieces have nothing to say of their own
      for (const piece of drawn.querySelectorAll("[role], [aria-roledescription]")) {
        for (const name of ["role", "aria-roledescription", "aria-label"]) piece.removeAttribute(name);
      }
      const [width, height] = [drawn.getAttribute("width"), drawn.getAttribute("height")];
      if (!drawn.hasAttribute("viewBox")) drawn.setAttribute("viewBox", `0 0 ${width} ${height}`);
    }
    steps(figure, values);
    figure.dataset.drawn = "yes";
    return made;
  } catch (reason) {
    console.warn("the drawn picture stays", reason);
  }
}

// The values one after the other, by the keys of the arrows or a finger, told in words.
function steps(figure, tables) {
  const place = figure.querySelector(".steps-here");
  const told = tables.flatMap(({ caption, columns, rows }) =>
    rows.map((row) => (caption ? `${caption}: ` : "") + row.map((cell, at) => `${columns[at]} ${cell}`).join("; ")),
  );
  if (!place || told.length < 2) return;
  const label = document.createElement("label");
  label.className = "steps";
  const name = document.createElement("span");
  name.className = "label";
  name.textContent = figure.dataset.step;
  const slider = document.createElement("input");
  slider.type = "range";
  slider.min = "0";
  slider.max = String(told.length - 1);
  slider.value = "0";
  const said = document.createElement("output");
  const tell = () => {
    said.textContent = told[Number(slider.value)];
    slider.setAttribute("aria-valuetext", said.textContent);
  };
  slider.addEventListener("input", tell);
  label.append(name, slider);
  place.replaceChildren(label, said);
  tell();
}

function load() {
  library ??= new Promise((done, failed) => {
    const script = document.createElement("script");
    script.type = "module";
    script.src = new URL("./chart-library.js", import.meta.url);
    script.onload = () => done(window.vegaEmbed);
    script.onerror = failed;
    document.head.append(script);
  });
  return library;
}
