/* A button that copies the text of another element: data-copies names it. Without script, or where the browser keeps the
   clipboard to itself, the button is not shown; the text can be marked, or saved by the link beside it. */
(() => {
  "use strict";

  for (const button of document.querySelectorAll("[data-copies]")) {
    if (!navigator.clipboard) continue;
    button.hidden = false;
    button.addEventListener("click", async () => {
      const source = document.getElementById(button.dataset.copies);
      try {
        await navigator.clipboard.writeText(source.textContent.trim());
        button.textContent = "Copied";
      } catch {
        getSelection().selectAllChildren(source);
        button.textContent = "Marked: copy it with the keyboard";
      }
    });
  }
})();
