// While an answer is on its way, ask how far it is, and show it when it is there.
import { renew } from "./renew.js";

const EVERY_MS = 600;
const SOON_MS = 250; // the verdict is there, the rest of the answer takes a second
const BUSY = ["working", "old", "quick"];
let timer = null;

export function startWatching() {
  document.addEventListener("renewed", look);
  look();
}

function look() {
  clearTimeout(timer);
  const verdict = document.getElementById("verdict");
  if (document.querySelector("#sides[data-waiting]")) timer = setTimeout(askSides, EVERY_MS * 3);
  if (!verdict) return;
  const busy = BUSY.includes(verdict.dataset.state) || verdict.querySelector("progress");
  if (busy) timer = setTimeout(ask, pause(verdict));
}

function pause(verdict) {
  return verdict.dataset.state === "quick" ? SOON_MS : EVERY_MS;
}

// Two designs beside each other: the table comes anew until both have their answer.
async function askSides() {
  const page = await fetch(window.location.href, { headers: { accept: "text/html" } }).catch(() => null);
  const fresh = page && page.ok && new DOMParser().parseFromString(await page.text(), "text/html");
  const [now, next] = [document.getElementById("sides"), fresh && fresh.getElementById("sides")];
  if (now && next && now.innerHTML !== next.innerHTML) now.replaceWith(next);
  look();
}

async function ask() {
  const verdict = document.getElementById("verdict");
  const reply = await fetch(verdict.dataset.poll, { headers: { accept: "application/json" } }).catch(() => null);
  const told = reply && reply.ok ? await reply.json().catch(() => null) : null;
  if (!told) {
    timer = setTimeout(ask, EVERY_MS * 3);
    return;
  }
  const bar = verdict.querySelector("progress");
  const newer = told.first !== (verdict.dataset.first === "yes");
  if (told.state === verdict.dataset.state && told.fraction !== null && !newer) {
    if (bar) bar.value = told.fraction;
    timer = setTimeout(ask, EVERY_MS);
    return;
  }
  if (BUSY.includes(told.state)) {
    timer = setTimeout(ask, pause(verdict));
    if (told.state === verdict.dataset.state && !newer) return;
  }
  const page = await fetch(window.location.href, { headers: { accept: "text/html" } }).catch(() => null);
  if (page && page.ok) renew(await page.text());
}
