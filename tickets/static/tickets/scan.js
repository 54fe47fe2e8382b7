// The scan box that never closes. Without this file each line is an ordinary form post.
// Lines are kept in a queue and sent one after the other, each with a key of its own, so that a
// quick scanner loses none and a line sent again is done once. The answer is what came of the line;
// whatever else changed on the page comes with it, each part with the place it belongs to.
(() => {
  const box = document.getElementById("scan");
  if (!box || !window.htmx) return;
  const line = box.elements.line;
  const waiting = [];
  let sending = false;

  const freshKey = () => {
    const b = crypto.getRandomValues(new Uint8Array(16));
    b[6] = (b[6] & 15) | 64;
    b[8] = (b[8] & 63) | 128;
    const hex = Array.from(b, (n) => n.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  };

  const refocus = () => {
    const now = document.activeElement;
    const elsewhere = now && now !== line && now.matches("input, select, textarea");
    if (!elsewhere) line.focus({ preventScroll: true });
  };

  const sendNext = async () => {
    if (sending || !waiting.length) return;
    sending = true;
    let arrived = false;
    const note = (event) => { arrived = event.detail.successful; };
    box.addEventListener("htmx:afterRequest", note);
    const live = document.getElementById("live");
    if (live) htmx.trigger(live, "htmx:abort"); // lists asked for before this scan would be stale
    try {
      await htmx.ajax("POST", box.action, {
        source: box, target: "#results", swap: "outerHTML", values: waiting[0],
      });
    } catch { arrived = false; }
    box.removeEventListener("htmx:afterRequest", note);
    sending = false;
    if (!arrived) return; // the line stays first in the queue; "Try again" or the next scan sends it
    const { key } = waiting.shift();
    const newest = document.querySelector("#results .newest");
    if (newest && newest.dataset.key === key) sound(newest.dataset.tone);
    // Who has gone on to a link by keyboard meanwhile is not pulled back from it.
    const now = document.activeElement;
    if (!now || now === document.body || box.contains(now)) refocus();
    if (waiting.length) sendNext();
    else if (live && isShownOut(live)) htmx.trigger(live, "refresh");
  };

  // Every card that was shown is gone, and more are waiting than the page had room for.
  const isShownOut = (live) => {
    const total = Number(document.getElementById("tally")?.dataset.total ?? 0);
    return total > 0 && !live.querySelector(".cards > li");
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.hasAttribute("data-scan")) return;
    event.preventDefault();
    const { seen, about } = form.elements;
    const text = form.elements.line?.value.trim();
    if (form === box) line.value = "";
    if (seen) waiting.push({ seen: seen.value, key: freshKey() });
    else if (text || !waiting.length) waiting.push({
      line: text, key: freshKey(), about: about?.value ?? "",
    });
    refocus();
    sendNext();
  });

  document.addEventListener("htmx:afterSettle", (event) => {
    if (!event.target.closest?.("#results")) return;
    const now = document.activeElement;
    if (!now || now === document.body) refocus();
  });

  // Sound: short and high is good, two low ones are bad, a rising pair asks.
  const button = document.getElementById("sound");
  const memory = "garment-counter-sound";
  let on = Boolean(button);
  const show = () => {
    button.setAttribute("aria-pressed", String(on));
    button.textContent = on ? button.dataset.on : button.dataset.off;
  };
  if (button) {
    try { on = localStorage.getItem(memory) !== "off"; } catch { /* private mode: sound stays on */ }
    button.hidden = false;
    show();
    button.addEventListener("click", () => {
      on = !on;
      try { localStorage.setItem(memory, on ? "on" : "off"); } catch { /* not remembered */ }
      show();
      refocus();
    });
  }

  let audio = null;
  const notes = {
    good: [[1320, 0, 0.09]],
    same: [[880, 0, 0.07]],
    ask: [[660, 0, 0.1], [990, 0.13, 0.12]],
    bad: [[196, 0, 0.18], [165, 0.24, 0.3]],
  };
  const sound = (tone) => {
    if (!on) return;
    try {
      audio ??= new AudioContext();
      audio.resume();
      for (const [pitch, after, long] of notes[tone] ?? []) {
        const start = audio.currentTime + after;
        const voice = audio.createOscillator();
        const level = audio.createGain();
        voice.type = tone === "bad" ? "square" : "sine";
        voice.frequency.value = pitch;
        level.gain.setValueAtTime(tone === "bad" ? 0.12 : 0.3, start);
        level.gain.exponentialRampToValueAtTime(0.001, start + long);
        voice.connect(level).connect(audio.destination);
        voice.start(start);
        voice.stop(start + long);
      }
    } catch { /* a tablet without sound still shows word, shape and colour */ }
  };
  refocus();
})();
