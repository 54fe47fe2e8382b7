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
  const trouble = (event) => { last = event.detail; if (banner) banner.hidden = false; };
  document.addEventListener("htmx:sendError", trouble);
  document.addEventListener("htmx:responseError", trouble);
  document.addEventListener("htmx:timeout", trouble);
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
