// A word that is tapped on is explained where it stands; without this it leads to the glossary.

let pages = null;

export function startWords() {
  document.addEventListener("click", onTap);
}

async function onTap(event) {
  const link = event.target.closest("a.word");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const open = link.parentElement.querySelector(`.meaning[data-of="${link.hash}"]`);
  if (open) {
    open.remove();
    link.setAttribute("aria-expanded", "false");
    return;
  }
  pages ??= fetch(link.pathname).then((reply) => reply.text());
  const glossary = new DOMParser().parseFromString(await pages.catch(() => ""), "text/html");
  const term = glossary.querySelector(link.hash);
  if (!term) {
    window.location.assign(link.href);
    return;
  }
  const meaning = document.createElement("span");
  meaning.className = "meaning";
  meaning.dataset.of = link.hash;
  meaning.setAttribute("role", "status");
  meaning.textContent = term.querySelector("dd").textContent;
  link.after(meaning);
  link.setAttribute("aria-expanded", "true");
}
