/* Tap a label on the drawing of the sheet to begin there. Without this script the number is typed. */
(() => {
  "use strict";

  document.addEventListener("click", (event) => {
    const label = event.target.closest("[data-label-number]");
    const field = document.getElementById("id_start");
    if (!label || !field) return;
    field.value = label.dataset.labelNumber;
    field.dispatchEvent(new Event("change", { bubbles: true }));
  });
})();
