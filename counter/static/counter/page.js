// Forms work without this file. It stops double sends and says when the shop's computer is away.
(() => {
  const banner = document.getElementById("trouble");
  let last = null;
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post" || form.hasAttribute("hx-post") || form.target === "_blank") return;
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "yes";
    setTimeout(() => { delete form.dataset.sent; }, 4000);
  });
  window.addEventListener("pageshow", () => {
    document.querySelectorAll("form[data-sent]").forEach((form) => { delete form.dataset.sent; });
  });
  const show = (id, shown) => { document.getElementById(id)?.toggleAttribute("hidden", !shown); };
  const trouble = (event, failed) => {
    last = event.detail;
    if (!banner) return;
    show("trouble-away", !failed);
    for (const id of ["trouble-failed", "trouble-reload"]) show(id, failed);
    banner.hidden = false;
  };
  document.addEventListener("htmx:sendError", (event) => trouble(event, false));
  document.addEventListener("htmx:responseError", (event) => trouble(event, true));
  document.addEventListener("htmx:timeout", (event) => trouble(event, false));
  document.getElementById("trouble-reload")?.addEventListener("click", () => location.reload());
  document.addEventListener("htmx:afterRequest", (event) => {
    if (event.detail.successful && banner) banner.hidden = true;
  });
  document.getElementById("trouble-retry")?.addEventListener("click", () => {
    banner.hidden = true;
    if (!last) { location.reload(); return; }
    const { elt, target, requestConfig } = last;
    // A scan box keeps a queue of its own; all others send again what they hold now.
    if (elt.matches("form[data-scan]")) elt.requestSubmit();
    else window.htmx.ajax(requestConfig.verb, requestConfig.path, { source: elt, target });
  });
})();

// On a narrow screen a row of links may scroll: it opens at the one that is current, and a side that
// hides more fades out. It jumps there at once, so nothing moves for who asks for less motion.
for (const row of document.querySelectorAll("nav")) {
  const here = row.querySelector("[aria-current]");
  const marks = () => {
    const scrolls = /auto|scroll/.test(getComputedStyle(row).overflowX);
    const edge = row.getBoundingClientRect();
    const sides = Array.from(row.children, (each) => each.getBoundingClientRect());
    row.classList.toggle("more-left",
      scrolls && sides.some((each) => each.left < edge.left - 1));
    row.classList.toggle("more-right",
      scrolls && sides.some((each) => each.right > edge.right + 1));
  };
  const show = () => {
    if (here) {
      const off = here.getBoundingClientRect().left - row.getBoundingClientRect().left;
      row.scrollBy({ left: off - (row.clientWidth - here.offsetWidth) / 2, behavior: "instant" });
    }
    marks();
  };
  row.addEventListener("scroll", marks, { passive: true });
  addEventListener("resize", marks);
  show();
  document.fonts.ready.then(show); // words change their width when the typeface arrives
}

// What the reader folded or unfolded stays so when its part of the page comes anew. A fold is known
// by its own name, or by its words within the part that holds it.
(() => {
  const folds = new Map();
  const nameOf = (fold) => fold.dataset.fold || fold.id
    || `${fold.closest("[id]")?.id} ${fold.querySelector("summary").textContent.trim()}`;
  document.addEventListener("click", (event) => {
    const fold = event.target.closest("summary")?.parentElement;
    if (fold) folds.set(nameOf(fold), !fold.open);
  });
  const restore = () => {
    if (!folds.size) return;
    for (const fold of document.querySelectorAll("details")) {
      const open = folds.get(nameOf(fold));
      if (open !== undefined) fold.open = open;
    }
  };
  for (const swap of ["htmx:afterSwap", "htmx:oobAfterSwap"]) {
    document.addEventListener(swap, restore);
  }
})();
