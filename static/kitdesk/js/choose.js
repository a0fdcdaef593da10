/* Ticking rows of a list: all on this page at once, and how many are ticked. Without a script each is ticked by itself. */
(() => {
  "use strict";

  function ticksOf(bar) {
    const form = document.getElementById(bar.dataset.choose);
    return form ? [...form.elements].filter((box) => box.matches("[data-tick]")) : [];
  }

  function show(bar) {
    const ticks = ticksOf(bar);
    const ticked = ticks.filter((box) => box.checked).length;
    const all = bar.querySelector("[data-choose-all]");
    const count = bar.querySelector("[data-choose-count]");
    bar.hidden = !ticks.length;
    all.checked = ticks.length > 0 && ticked === ticks.length;
    all.indeterminate = ticked > 0 && ticked < ticks.length;
    count.textContent = ticked ? `${ticked} ${count.dataset.ticked}` : count.dataset.none;
  }

  function showAll() {
    for (const bar of document.querySelectorAll("[data-choose]")) show(bar);
  }

  document.addEventListener("change", (event) => {
    const bar = event.target.closest?.("[data-choose]");
    if (bar) {
      for (const box of ticksOf(bar)) box.checked = event.target.checked;
      show(bar);
    } else if (event.target.matches?.("[data-tick]")) {
      showAll();
    }
  });
  document.addEventListener("htmx:afterSettle", showAll);
  window.addEventListener("pageshow", showAll);
  showAll();
})();
