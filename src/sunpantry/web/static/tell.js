// A new verdict is said once to a screen reader, when it has come to rest: not at every key, and
// not again where only a bar or a picture beside it has moved.

const REST_MS = 900;
let resting = null;
let last = "";

export function startTelling() {
  const verdict = document.getElementById("verdict");
  if (!verdict) return;
  last = wordsOf(verdict);
  new MutationObserver(() => {
    clearTimeout(resting);
    resting = setTimeout(() => tell(verdict), REST_MS);
  }).observe(verdict, { childList: true, subtree: true, characterData: true });
}

function tell(verdict) {
  const words = wordsOf(verdict);
  if (words === last) return;
  last = words;
  document.getElementById("told").textContent = words;
}

function wordsOf(verdict) {
  const answer = verdict.querySelectorAll(".verdict-words > span, .said");
  const said = answer.length ? answer : verdict.querySelectorAll(".progress label");
  return [...said].map((one) => one.textContent.trim()).join(" ");
}
