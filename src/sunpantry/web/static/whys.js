// A number that is tapped on shows its working where it stands; without this it leads to the
// page of workings.

let pages = null;
let wanted = "";

export function startWhys() {
  document.addEventListener("click", onTap);
  document.addEventListener("keydown", onKey);
  document.addEventListener("renewed", () => {
    pages = null;
  });
}

async function onTap(event) {
  const link = event.target.closest("a.num");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const again = link.getAttribute("aria-expanded") === "true";
  close();
  if (again) return;
  wanted = link.href;
  pages ??= fetch(link.pathname + link.search).then((reply) => (reply.ok ? reply.text() : ""));
  const all = new DOMParser().parseFromString(await pages.catch(() => ""), "text/html");
  if (wanted !== link.href) return;
  const found = all.getElementById(decodeURIComponent(link.hash.slice(1)));
  if (!found || !link.isConnected) {
    pages = null;
    window.location.assign(link.href);
    return;
  }
  show(link, found);
}

function show(link, found) {
  const here = document.createElement("div");
  here.className = "why-here";
  here.setAttribute("role", "status");
  for (const piece of [...found.childNodes]) if (piece.tagName !== "H2") here.append(piece);
  const shut = document.createElement("button");
  shut.type = "button";
  shut.textContent = document.getElementById("main").dataset.close;
  shut.addEventListener("click", () => close(true));
  here.append(shut);
  const block = link.closest(".scroll") ?? link.closest("p, li, .ticks");
  if (block?.tagName === "LI") block.append(here);
  else (block ?? link).after(here);
  link.setAttribute("aria-expanded", "true");
}

function onKey(event) {
  if (event.key === "Escape") close(true);
}

function close(back = false) {
  document.querySelector(".why-here")?.remove();
  const link = document.querySelector('a.num[aria-expanded="true"]');
  link?.removeAttribute("aria-expanded");
  if (back) link?.focus();
}
