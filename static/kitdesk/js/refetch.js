/* A part of the page that could not be fetched says so, and is fetched again as soon as there is a connection. */
(() => {
  "use strict";

  const FIRST_WAIT = 1000;
  const LONGEST_WAIT = 30_000;
  const missed = new Map();
  let wait = FIRST_WAIT;
  let timer = 0;

  function show() {
    const box = document.getElementById("outdated");
    if (!box) return;
    if (missed.size === 0) return box.replaceChildren();
    // Said once, not at every try.
    if (box.firstElementChild) return;
    const words = document.createElement("p");
    words.textContent = "Not up to date: the desk does not answer. It is asked again by itself.";
    box.replaceChildren(words);
  }

  function askAgain() {
    clearTimeout(timer);
    for (const [element, { verb, address }] of missed) {
      // What asks every few seconds anyway needs no push.
      if (!element.isConnected) missed.delete(element);
      else if (!element.getAttribute("hx-trigger")?.includes("every"))
        window.htmx.ajax(verb, address, { source: element });
    }
    show();
  }

  for (const type of ["htmx:sendError", "htmx:timeout", "htmx:responseError"]) {
    document.addEventListener(type, (event) => {
      const { elt: element, requestConfig, pathInfo, xhr } = event.detail;
      const lasting = xhr.status >= 400 && xhr.status < 500;
      if (lasting) return;
      missed.set(element, { verb: requestConfig.verb, address: pathInfo.requestPath });
      clearTimeout(timer);
      timer = setTimeout(askAgain, wait);
      wait = Math.min(wait * 2, LONGEST_WAIT);
      show();
    });
  }
  document.addEventListener("htmx:afterRequest", (event) => {
    if (!event.detail.successful) return;
    missed.delete(event.detail.elt);
    wait = FIRST_WAIT;
    show();
  });
  window.addEventListener("online", askAgain);
})();
