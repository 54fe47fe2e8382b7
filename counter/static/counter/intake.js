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
