/* Keys at the trace: each presses the link that carries it, so that what is shown always stands in the address. */
(() => {
  "use strict";

  const OTHER_NAMES = { "=": "+", "−": "-", _: "-" };

  document.addEventListener("keydown", (event) => {
    const trace = event.target.closest("[data-trace]");
    if (!trace || event.ctrlKey || event.metaKey || event.altKey) return;
    const key = OTHER_NAMES[event.key] || event.key;
    const link = trace.querySelector(`a[data-key="${CSS.escape(key)}"]`);
    if (!link) return;
    event.preventDefault();
    link.click();
  });
})();
