/* Nothing typed is lost: forms keep it in this tab until it has been accepted. Pages work without this script. */
(() => {
  "use strict";

  const KEEP = "kitdesk.typed:";
  const TYPING = "input:not([type=checkbox], [type=radio], [type=button], [type=submit]), textarea, select";
  // Never kept: secrets, files, and what the server sets for this one form.
  const UNKEPT = "[type=password], [type=file], [type=hidden], [type=submit], [autocomplete*=one-time-code], [data-unkept]";

  // What was typed is kept in this tab until the form has been accepted, and put back after a reload or a new sign-in.
  const keepable = (form) => form.method.toLowerCase() === "post" && !form.matches("[data-unkept]") && !form.querySelector("[type=password]");
  const place = (form) => form.getAttribute("action") || location.pathname;
  const keyOf = (form) => {
    const twins = [...document.forms].filter((other) => keepable(other) && place(other) === place(form));
    return `${KEEP}${location.pathname}|${place(form)}|${form.id || twins.indexOf(form)}`;
  };
  const fieldsOf = (form) => [...form.elements].filter((field) => field.name && field.matches(TYPING + ", [type=checkbox], [type=radio]") && !field.matches(UNKEPT));
  const untouched = (field) => {
    if (field.matches("[type=checkbox], [type=radio]")) return field.checked === field.defaultChecked;
    if (field.tagName === "SELECT") return [...field.options].every((option) => option.selected === option.defaultSelected);
    return field.value === field.defaultValue;
  };

  function keep(form) {
    const fields = fieldsOf(form);
    if (fields.every(untouched)) return forget(form);
    const values = fields.map((field) => [field.name, field.matches("[type=checkbox], [type=radio]") ? [field.value, field.checked] : readValue(field)]);
    try {
      sessionStorage.setItem(keyOf(form), JSON.stringify(values));
    } catch {
      // Storage full or forbidden: the form still works, only the safety net is missing.
    }
  }
  const readValue = (field) => (field.multiple ? [...field.selectedOptions].map((option) => option.value) : field.value);
  function forget(form) {
    try {
      sessionStorage.removeItem(keyOf(form));
    } catch {
      // As above.
    }
  }
  function kept(form) {
    try {
      return JSON.parse(sessionStorage.getItem(keyOf(form)) || "null");
    } catch {
      return null;
    }
  }

  function putBack(form) {
    const values = kept(form);
    if (!values) return;
    // Errors on the page: the server has already given back what was typed.
    if (form.querySelector(".errors") || document.querySelector(".error-list")) return;
    const fields = fieldsOf(form);
    let changed = false;
    values.forEach(([name, value], index) => {
      const field = fields[index];
      // A form that has changed its fields since is left as the server sent it.
      if (!field || field.name !== name) return;
      if (field.matches("[type=checkbox], [type=radio]")) {
        if (field.value !== value[0] || field.checked === value[1]) return;
        field.checked = value[1];
      } else if (field.multiple) {
        for (const option of field.options) option.selected = value.includes(option.value);
      } else {
        if (field.value === value) return;
        field.value = value;
      }
      changed = true;
    });
    if (!changed) return forget(form);
    form.prepend(restoredNote(form));
    form.dispatchEvent(new Event("typed:changed", { bubbles: true }));
  }
  function restoredNote(form) {
    const note = document.createElement("div");
    note.className = "restored";
    note.setAttribute("role", "status");
    const words = document.createElement("span");
    words.textContent = "What you typed here before has been put back.";
    const button = document.createElement("button");
    button.type = "button";
    button.className = "quiet";
    button.textContent = "Discard it";
    button.addEventListener("click", () => {
      forget(form);
      form.reset();
      form.dispatchEvent(new Event("typed:changed", { bubbles: true }));
      note.remove();
    });
    note.append(words, button);
    return note;
  }

  for (const type of ["input", "change"]) {
    document.addEventListener(type, (event) => {
      const form = event.target.form;
      if (form && keepable(form)) keep(form);
    });
  }
  // Accepted means: the desk has answered, and the page it answered with shows no error. A sign-in page, a failure, a
  // form gone stale, or a way back with the browser's own button is no such answer; the kept text stays then.
  const SENT = "kitdesk.sent";
  const ANSWERED = "answered:";
  function noteSent(form, mark) {
    if (!keepable(form)) return;
    try {
      sessionStorage.setItem(SENT, mark + keyOf(form));
    } catch {
      // As above.
    }
  }
  document.addEventListener("form:answered", (event) => noteSent(event.target, ANSWERED));
  document.addEventListener("submit", (event) => {
    if (event.target.matches("[data-forget-all]")) forgetAll();
    // Taken over by the outbox: it says itself when there is an answer.
    if (!event.defaultPrevented) noteSent(event.target, "");
  });
  function settleSent() {
    try {
      const sent = sessionStorage.getItem(SENT);
      if (!sent) return;
      sessionStorage.removeItem(SENT);
      const answered = sent.startsWith(ANSWERED);
      const [arrival] = performance.getEntriesByType("navigation");
      const failed = arrival?.responseStatus >= 400 || (!answered && arrival && arrival.type !== "navigate");
      if (failed || document.querySelector("[type=password], .errors, .error-list, .message-error")) return;
      sessionStorage.removeItem(answered ? sent.slice(ANSWERED.length) : sent);
    } catch {
      // As above.
    }
  }
  // Signing out leaves nothing behind for the next person at this machine.
  function forgetAll() {
    try {
      for (const key of Object.keys(sessionStorage)) if (key.startsWith(KEEP)) sessionStorage.removeItem(key);
    } catch {
      // As above.
    }
  }
  // One row of a form was kept: what is typed in the others is not accepted by that.
  document.addEventListener("act:kept", (event) => {
    const form = event.target.closest("form");
    if (form && keepable(form) && !event.target.querySelector(".errors")) keep(form);
  });

  function settlePage() {
    settleSent();
    for (const form of document.forms) if (keepable(form)) putBack(form);
  }
  document.addEventListener("DOMContentLoaded", settlePage);
  document.addEventListener("page:shown", settlePage);
})();
