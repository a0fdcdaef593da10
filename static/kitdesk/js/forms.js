/* A form is sent once and waits its turn behind what was done before it. Without a connection it stays as it stands, says
   so, and is sent as soon as there is one: the browser's own error page never takes its place. */
(() => {
  "use strict";

  const PATIENCE = 120_000;
  const { outbox } = window.Kitdesk;

  const addressOf = (form, submitter) =>
    submitter?.getAttribute("formaction") || form.getAttribute("action") || location.href;
  const buttonsOf = (form) => [...form.elements].filter((element) => element.type === "submit");

  function bodyOf(form, submitter) {
    const body = new FormData(form);
    if (submitter?.name) body.append(submitter.name, submitter.value);
    return body;
  }

  function showBusy(submitter) {
    if (!submitter?.dataset.busy || submitter.dataset.idle) return;
    submitter.dataset.idle = submitter.textContent;
    submitter.textContent = `${submitter.dataset.busy} …`;
  }
  function rest(form) {
    form.removeAttribute("data-sending");
    for (const button of buttonsOf(form)) {
      button.removeAttribute("aria-busy");
      if (button.dataset.idle === undefined) continue;
      button.textContent = button.dataset.idle;
      delete button.dataset.idle;
    }
  }

  // The page that answers takes the place of this one, as if the browser had gone there.
  function showPage(html, address) {
    window.htmx.swap(document.body, html, { swapStyle: "outerHTML", swapDelay: 0, settleDelay: 0 });
    for (const form of document.forms)
      if (!form.hasAttribute("action")) form.setAttribute("action", address);
    const main = document.getElementById("main");
    if (main && !main.contains(document.activeElement)) main.focus();
    if (document.activeElement === main) window.scrollTo(0, 0);
    document.dispatchEvent(new Event("page:shown"));
  }

  function makeAct(form, submitter) {
    const act = {
      form,
      submitter,
      label: (submitter?.dataset.idle || submitter?.textContent || "the form").trim(),
      mayLeave: true,
      scan: form.matches(".scan-part"),
      // Without a key a repeat could do it twice: then the operator decides.
      again: Boolean(form.elements.form_key),
      headers: {},
      patience: PATIENCE,
      path: () => addressOf(form, act.submitter),
      body: () => bodyOf(form, act.submitter),
      row: () => form,
      pressed: () => buttonsOf(form),
      heldUp: () => rest(form),
      leftOut: () => rest(form),
      answered({ html, goesTo }) {
        form.dispatchEvent(new CustomEvent("form:answered", { bubbles: true }));
        if (goesTo) return goesTo;
        showPage(html, act.path());
        return null;
      },
      refused(text) {
        rest(form);
        window.Kitdesk.refused(form, text);
      },
    };
    return act;
  }

  document.addEventListener("submit", (event) => {
    const { target: form, submitter } = event;
    if (form.matches("[role=search]")) submitter?.setAttribute("aria-busy", "true");
    if (event.defaultPrevented || form.method.toLowerCase() !== "post") return;
    if (form.hasAttribute("data-sending")) return event.preventDefault();
    form.setAttribute("data-sending", "");
    showBusy(submitter);
    // Secrets go the browser's own way, so that it can offer to keep them.
    if (!window.htmx || form.querySelector("[type=password]"))
      return buttonsOf(form).forEach((button) => button.setAttribute("aria-busy", "true"));
    event.preventDefault();
    const before = outbox.waiting.find((act) => act.form === form);
    if (!before) return outbox.add(makeAct(form, submitter));
    before.submitter = submitter;
    outbox.tryNow();
  });

  window.addEventListener("pageshow", (event) => {
    if (event.persisted) document.querySelectorAll("[data-sending], [role=search]").forEach(rest);
  });
})();
