// Keep what stays in view out of the way of what is scrolled to, and say which chapter is read.

export function startChapters() {
  const inView = document.getElementById("in-view");
  if (!inView) return;
  const measure = () => {
    const verdict = document.getElementById("verdict");
    const lone = getComputedStyle(inView).display === "contents";
    const height = (lone ? verdict : inView).getBoundingClientRect().height;
    document.documentElement.style.setProperty("--in-view", `${Math.ceil(height)}px`);
  };
  new ResizeObserver(measure).observe(document.getElementById("verdict"));
  window.addEventListener("resize", measure);
  measure();
  document.addEventListener("renewed", mark);
  document.addEventListener("scroll", soon, { passive: true });
  document.addEventListener("click", reveal);
  mark();
}

let waiting = false;

function soon() {
  if (waiting) return;
  waiting = true;
  requestAnimationFrame(() => {
    waiting = false;
    mark();
  });
}

function mark() {
  let read = "";
  for (const chapter of document.querySelectorAll(".chapter")) {
    if (chapter.getBoundingClientRect().top < window.innerHeight * 0.4) read = `#${chapter.id}`;
  }
  for (const link of document.querySelectorAll(".chapters a")) {
    if (link.hash === read) {
      if (!link.hasAttribute("aria-current")) link.parentElement.scrollLeft = link.offsetLeft - 16;
      link.setAttribute("aria-current", "true");
    } else link.removeAttribute("aria-current");
  }
}

// A link to something inside a fold opens the fold.
function reveal(event) {
  const link = event.target.closest('a[href^="#"]');
  const target = link && document.getElementById(link.hash.slice(1));
  for (let up = target; up; up = up.parentElement) if (up.tagName === "DETAILS") up.open = true;
}
