/* When the chosen files were saved goes along with them: a form sends no times by itself. */
(() => {
  "use strict";

  document.addEventListener("change", (event) => {
    const form = event.target.closest("form[data-file-times]");
    if (!form || event.target.type !== "file") return;
    const times = [...event.target.files].map((file) => [file.name, file.lastModified]);
    form.elements.saved_at.value = JSON.stringify(Object.fromEntries(times));
  });
})();
