// The scan box of the pickup page: each line is sent in turn, then the box is empty and ready
// again. Without this file each scan is an ordinary form post. A line sent twice scans once.
(() => {
  const form = document.querySelector("form[data-scan]");
  if (!form || !window.htmx) return;
  const box = form.elements.code;
  const waiting = [];
  let sending = false;

  const sendNext = async () => {
    if (sending || !waiting.length) return;
    sending = true;
    let arrived = false;
    const note = (event) => { arrived = event.detail.successful; };
    form.addEventListener("htmx:afterRequest", note);
    try {
      await htmx.ajax("POST", form.action, {
        source: form, target: "#scan-results", swap: "innerHTML", values: { code: waiting[0] },
      });
    } catch { arrived = false; }
    form.removeEventListener("htmx:afterRequest", note);
    sending = false;
    if (!arrived) return; // stays first in the queue; "Try again" or the next scan sends it
    waiting.shift();
    sendNext();
  };

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const code = box.value.trim();
    box.value = "";
    box.required = false; // "Try again" may submit an empty box to send what still waits
    if (code) waiting.push(code);
    box.focus({ preventScroll: true });
    sendNext();
  });
  document.addEventListener("htmx:afterSettle", (event) => {
    if (event.target.id !== "scan-results") return;
    const now = document.activeElement;
    if (!now || now === document.body) box.focus({ preventScroll: true });
  });
})();
