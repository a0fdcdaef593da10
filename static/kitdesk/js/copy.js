/* A button that copies the text of another element: data-copies names it. Without script, or where the browser keeps the
   clipboard to itself, the button is not shown; the text can be marked, or saved by the link beside it. */
(() => {
  "use strict";

  function showAll() {
    if (!navigator.clipboard) return;
    for (const button of document.querySelectorAll("[data-copies]")) button.hidden = false;
  }

  async function copy(button) {
    const source = document.getElementById(button.dataset.copies);
    try {
      await navigator.clipboard.writeText(source.textContent.trim());
      button.textContent = "Copied";
    } catch {
      getSelection().selectAllChildren(source);
      button.textContent = "Marked: copy it with the keyboard";
    }
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-copies]");
    if (button) copy(button);
  });
  document.addEventListener("DOMContentLoaded", showAll);
  document.addEventListener("htmx:load", showAll);
  showAll();
})();
