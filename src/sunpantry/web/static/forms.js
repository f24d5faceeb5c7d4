// Forms answer in place. While something is typed, a quick answer shows what would follow;
// when the field is left, or Save is pressed, the change is saved as a new version.
import { renew } from "./renew.js";

const QUIET_MS = 40;
let latest = 0;
let pending = null;
let asking = null; // the quick answer that is on its way
let glanced = ""; // what the last one was asked for

export function startForms() {
  document.addEventListener("submit", onSubmit);
  document.addEventListener("input", onInput);
  document.addEventListener("change", onChange);
  document.addEventListener("keydown", onKey);
}

async function onSubmit(event) {
  const form = event.target;
  if (!form.matches("form[data-live]")) return;
  event.preventDefault();
  await save(form, event.submitter);
}

function onChange(event) {
  const form = event.target.form;
  if (!form || !form.matches("form[data-glance]")) return;
  if (event.target.tagName === "SELECT" || event.target.tagName === "INPUT") save(form);
}

function onInput(event) {
  const form = event.target.form;
  if (!form || !form.matches("form[data-glance]")) return;
  clearTimeout(pending);
  const started = performance.now();
  pending = setTimeout(() => glance(form, new URLSearchParams(new FormData(form)), started), QUIET_MS);
}

function onKey(event) {
  const typing = event.target.matches("input, textarea, select");
  if (typing || !(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z") return;
  const form = document.querySelector(event.shiftKey ? '#bar form[action$="/redo"]' : '#bar form[action$="/undo"]');
  if (form && !form.querySelector("button").disabled) {
    event.preventDefault();
    save(form);
  }
}

// One after the other, each on the version that the one before has made: a field that is left
// by pressing Save asks twice, and two quick changes must not look like two people.
let queue = Promise.resolve();
let asked = "";
let sending = 0;

export function save(form, submitter) {
  clearTimeout(pending);
  const body = new URLSearchParams(new FormData(form, submitter));
  body.delete("base");
  const wanted = `${form.action}?${body}`;
  if (wanted === asked) return queue;
  asked = wanted;
  // the verdict does not wait for the rest of the page
  if (!sending && form.action.includes("/change/")) glance(form, new URLSearchParams(body), performance.now());
  sending += 1;
  queue = queue.then(() => send(form, body, submitter)).finally(() => {
    sending -= 1;
    if (asked === wanted) asked = "";
  });
  return queue;
}

async function send(form, body, submitter) {
  const turn = ++latest;
  const before = asking;
  const seen = document.querySelector('#bar input[name="base"]');
  if (seen) body.set("base", seen.value);
  document.getElementById("verdict")?.classList.add("typing");
  try {
    const reply = await fetch(form.action, { method: "POST", body, headers: { accept: "text/html" } }).catch(() => null);
    const verdict = document.getElementById("verdict");
    if (!reply && verdict) {
      say(verdict, verdict.dataset.away); // going to a page that is not there would lose what was typed
      return;
    }
    const html = await reply.text();
    if (reply.status === 409 || !html.includes('id="verdict"')) {
      document.open();
      document.write(html);
      document.close();
      return;
    }
    if (asking === before) before?.abort(); // the page tells it by now
    glanced = "";
    renew(html, form, body);
    if (!reply.ok && submitter) toFirstMistake();
    if (form.id === "add-load" && reply.ok) clearAdded(body.get("name"));
  } catch {
    form.submit();
  } finally {
    if (turn === latest) document.getElementById("verdict")?.classList.remove("typing");
  }
}

// Whoever pressed the button is led to what has to be mended, be it in a fold.
function toFirstMistake() {
  const wrong = document.querySelector('[aria-invalid="true"]');
  for (let up = wrong; up; up = up.parentElement) if (up.tagName === "DETAILS") up.open = true;
  wrong?.focus();
}

// The next thing may stand in the field already: only what was added goes.
function clearAdded(name) {
  const field = document.getElementById("add-name");
  if (field && field.value === name) field.value = "";
}

async function glance(form, body, started) {
  body.delete("base");
  const address = form.dataset.glance ?? form.action.replace("/change/", "/glance/");
  if (glanced === `${address}?${body}`) return;
  glanced = `${address}?${body}`;
  asking?.abort(); // what was typed before needs no answer any more
  const mine = (asking = new AbortController());
  const verdict = document.getElementById("verdict");
  verdict?.classList.add("typing");
  const seen = document.querySelector('#bar input[name="base"]');
  if (seen) body.set("base", seen.value);
  const reply = await fetch(address, {
    method: "POST",
    body,
    headers: { accept: "application/json" },
    signal: mine.signal,
  }).catch(() => null);
  if (mine.signal.aborted) return;
  if (!reply) {
    glanced = "";
    say(verdict, verdict?.dataset.away);
    return;
  }
  const told = await reply.json().catch(() => ({}));
  if (mine.signal.aborted) return;
  say(verdict, saidOf(reply, told, verdict));
  if (reply.ok && told.verdict) {
    const words = document.getElementById("verdict-now");
    if (words) words.innerHTML = told.verdict;
    const picture = document.getElementById("picture");
    if (picture) picture.innerHTML = told.picture;
    const places = document.querySelectorAll("[data-share]");
    if (places.length === told.shares.length) {
      for (const place of places) place.textContent = told.shares[Number(place.dataset.share)];
    }
    verdict?.classList.remove("typing");
    // for whoever measures: from the keystroke to the new verdict on the screen
    requestAnimationFrame(() => {
      document.documentElement.dataset.answeredInMs = String(Math.round(performance.now() - started));
    });
  }
}

// What stands in the way of a quick answer, told while it is being typed.
function saidOf(reply, told, verdict) {
  if (told.state === "anew") return verdict?.dataset.anew ?? "";
  return reply.ok ? "" : (told.said ?? "");
}

function say(verdict, words) {
  const before = verdict?.querySelector(".said");
  if (!words) {
    before?.remove();
    return;
  }
  const place = before ?? document.createElement("p");
  place.className = "mark-old said";
  place.textContent = words;
  if (!before) verdict?.append(place);
}
