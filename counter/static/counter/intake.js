// The editor of a piece works without this file; it only saves taps.
(() => {
  const form = document.getElementById("piece-form");
  if (!form) return;
  form.addEventListener("change", (event) => {
    const field = event.target;
    if (field.dataset.name && field.type === "radio") {
      const words = field.closest("fieldset").querySelector(".chosen");
      if (words) words.textContent = field.dataset.name;
    }
    if (field.id === "kind_other" && field.value.trim()) {
      form.querySelector("input[name=kind][value=more]").checked = true;
    }
    if (field.name === "kind" && field.value !== "more") form.querySelector("#kind_other").value = "";
  });
  // The open question gets its stitch. An answered group folds when the next one is answered, never under the finger that is in it.
  let at = null;
  for (const touched of ["click", "change"]) {
    form.addEventListener(touched, (event) => { at = event.target.closest(".group") ?? at; }, true);
  }
  document.addEventListener("htmx:afterSettle", () => {
    const state = form.querySelector("[data-answered]");
    if (!at || !state) return;
    const answered = state.dataset.answered.split(" ");
    for (const group of form.querySelectorAll("fieldset.group")) {
      const name = group.id.replace("group-", "");
      group.classList.toggle("answered", group !== at && answered.includes(name));
      group.classList.toggle("asked", name === state.dataset.openAt);
    }
    const what = document.getElementById("what-it-is");
    what.classList.toggle("whole", "whole" in state.dataset && !what.contains(at));
  });
  // The label as a strip: a tapped symbol shows on it and says that the label was read, and the row
  // of the next group without one opens. Keys stay in their row: an arrow chooses on its way.
  const strip = form.querySelector(".label-strip");
  strip?.addEventListener("change", (event) => event.stopPropagation());
  const mark = (row) => {
    const place = form.querySelector(`#strip-${row.name.replace("symbol-", "")}`).parentElement;
    const drawn = row.parentElement.querySelector("use").getAttribute("href");
    place.querySelector("use").setAttribute("href", drawn);
    place.querySelector("svg").classList.toggle("off", !row.value);
    place.querySelector(".short").textContent = row.dataset.short;
  };
  form.addEventListener("change", (event) => {
    if (!event.target.name?.startsWith("symbol-")) return;
    mark(event.target);
    if (!form.querySelector("[name=label_state]:checked") && event.target.value) {
      form.querySelector("[name=label_state][value=read]").checked = true;
    }
  }, true);
  form.addEventListener("click", (event) => {
    if (!event.detail || !event.target.name?.startsWith("symbol-")) return;
    const places = [...strip.querySelectorAll("input")];
    const after = places.slice(places.findIndex((place) => place.checked) + 1);
    const next = after.find((place) => form.querySelector(`[name=symbol-${place.value}][value=""]:checked`));
    if (next) next.checked = true;
  });
  // A chosen photo is sent by its own button; to the form it is no change of an answer.
  form.querySelector("[data-sends]")?.addEventListener("change", (event) => {
    event.stopPropagation();
    const field = event.target;
    if (field.files.length) document.getElementById(field.dataset.sends).click();
  });
  // Enter in a text field shows the decision here instead of loading the page anew.
  form.addEventListener("submit", (event) => {
    if (event.submitter?.value !== "look") return;
    event.preventDefault();
    if (document.activeElement?.name?.startsWith("more-")) document.activeElement.blur();
    else window.htmx.trigger(form, "look");
  });
})();
