/* Kitdesk's small script. Every page works without it; it only saves steps for the person at the bench. */
(() => {
  "use strict";

  const KEEP = "kitdesk.typed:";
  const TYPING = "input:not([type=checkbox], [type=radio], [type=button], [type=submit]), textarea, select";
  // Never kept: secrets, files, and what the server sets for this one form.
  const UNKEPT = "[type=password], [type=file], [type=hidden], [type=submit], [autocomplete*=one-time-code], [data-unkept]";

  // "/" goes to the scan box from anywhere but a field.
  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest?.(`${TYPING}, [contenteditable]`)) return;
    const box = document.getElementById("scan-box");
    if (!box) return;
    event.preventDefault();
    box.focus();
    box.select();
  });

  // Arrow keys walk a checklist in packing order; inside a choice they choose, as the browser does.
  document.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const list = event.target.closest?.("[data-checklist]");
    if (!step || !list || !event.target.matches("[type=checkbox]")) return;
    const boxes = [...list.querySelectorAll("[type=checkbox]:not(:disabled)")];
    const next = boxes[boxes.indexOf(event.target) + step];
    if (!next) return;
    event.preventDefault();
    next.focus();
    next.scrollIntoView({ block: "nearest" });
  });

  // "7 of 11" counts along while rows are ticked. A choice counts once it is made.
  function countChecklist(list) {
    const box = document.querySelector("[data-progress]");
    if (!box) return;
    const names = new Set([...list.querySelectorAll("[type=radio]")].map((radio) => radio.name));
    const ticks = list.querySelectorAll("[type=checkbox]");
    const done = list.querySelectorAll("[type=checkbox]:checked, [type=radio]:checked:not([value=open])").length;
    box.querySelector("[data-progress-done]").textContent = String(done);
    box.querySelector("[data-progress-total]").textContent = String(names.size + ticks.length);
    const bar = box.querySelector("progress");
    bar.max = Math.max(names.size + ticks.length, 1);
    bar.value = done;
  }
  document.addEventListener("change", (event) => {
    const list = event.target.closest?.("[data-checklist]");
    if (list) countChecklist(list);
  });

  // A form is sent once: a second press while the first is under way does nothing.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method.toLowerCase() !== "post" || form.matches("[hx-post], [data-hx-post]")) return;
    if (form.hasAttribute("data-sending")) {
      event.preventDefault();
      return;
    }
    form.setAttribute("data-sending", "");
    form.setAttribute("aria-busy", "true");
    const busy = event.submitter?.dataset.busy;
    if (busy) {
      event.submitter.dataset.idle = event.submitter.textContent;
      event.submitter.textContent = `${busy} …`;
    }
    // A download answers without leaving the page; then the form must be usable again.
    if (form.hasAttribute("data-stays")) setTimeout(() => rest(form), 3000);
  });
  function rest(form) {
    form.removeAttribute("data-sending");
    form.removeAttribute("aria-busy");
    for (const button of form.querySelectorAll("[data-idle]")) {
      button.textContent = button.dataset.idle;
      delete button.dataset.idle;
    }
  }
  window.addEventListener("pageshow", () => document.querySelectorAll("[data-sending]").forEach(rest));

  // What was typed is kept in this tab until the form has been accepted, and put back after a reload or a new sign-in.
  const keepable = (form) => form.method.toLowerCase() === "post" && !form.matches("[data-unkept], .confirm") && !form.querySelector("[type=password]");
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
    form.querySelectorAll("[data-checklist]").forEach(countChecklist);
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
      form.querySelectorAll("[data-checklist]").forEach(countChecklist);
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
  // Accepted means: the answer to the submit is a page without errors. A sign-in page, a failure, or a way back with
  // the browser's own button is no such answer; the kept text stays then, and is put back on the form.
  const SENT = "kitdesk.sent";
  document.addEventListener("submit", (event) => {
    if (event.target.matches("[data-forget-all]")) forgetAll();
    if (!keepable(event.target)) return;
    try {
      sessionStorage.setItem(SENT, keyOf(event.target));
    } catch {
      // As above.
    }
  });
  function settleSent() {
    try {
      const sent = sessionStorage.getItem(SENT);
      if (!sent) return;
      sessionStorage.removeItem(SENT);
      const [arrival] = performance.getEntriesByType("navigation");
      const failed = arrival?.responseStatus >= 400 || (arrival && arrival.type !== "navigate");
      if (failed || document.querySelector("[type=password], .errors, .error-list, .message-error")) return;
      sessionStorage.removeItem(sent);
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
  document.body.addEventListener("htmx:afterRequest", (event) => {
    const form = event.detail.elt.closest?.("form");
    if (form && keepable(form) && event.detail.successful && !form.querySelector(".errors")) forget(form);
  });

  // Files may be dropped as well as picked; the names stand in a list before anything is sent.
  function wireDropzone(zone) {
    if (zone.hasAttribute("data-wired")) return;
    zone.setAttribute("data-wired", "");
    const input = zone.querySelector("input[type=file]");
    const list = zone.querySelector("[data-drop-list]");
    zone.querySelector("[data-drop-hint]").hidden = false;
    const show = () => {
      list.replaceChildren(
        ...[...input.files].map((file) => {
          const line = document.createElement("li");
          const name = document.createElement("span");
          name.textContent = file.name;
          const size = document.createElement("span");
          size.textContent = file.size < 1e6 ? `${Math.max(1, Math.round(file.size / 1e3))} kB` : `${(file.size / 1e6).toFixed(1)} MB`;
          line.append(name, size);
          return line;
        }),
      );
    };
    input.addEventListener("change", show);
    for (const type of ["dragenter", "dragover"]) {
      zone.addEventListener(type, (event) => {
        event.preventDefault();
        zone.classList.add("upload-over");
      });
    }
    zone.addEventListener("dragleave", (event) => {
      if (!zone.contains(event.relatedTarget)) zone.classList.remove("upload-over");
    });
    zone.addEventListener("drop", (event) => {
      event.preventDefault();
      zone.classList.remove("upload-over");
      const all = new DataTransfer();
      // Dropped files join those already picked; one single file replaces the last.
      if (input.multiple) for (const file of input.files) all.items.add(file);
      for (const file of input.multiple ? event.dataTransfer.files : [...event.dataTransfer.files].slice(0, 1)) all.items.add(file);
      input.files = all.files;
      input.dispatchEvent(new Event("change", { bubbles: true }));
    });
  }

  function wake(root) {
    root.querySelectorAll("[data-dropzone]").forEach(wireDropzone);
    root.querySelector("[data-autofocus]")?.focus();
  }
  // An open sheet (More, the signed-in name) closes with Escape and with a press elsewhere.
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    const open = document.querySelector(".nav-more details[open], .who[open]");
    if (!open) return;
    open.open = false;
    open.querySelector("summary").focus();
  });
  document.addEventListener("click", (event) => {
    document.querySelectorAll(".nav-more details[open], .who[open]").forEach((sheet) => {
      if (!sheet.contains(event.target)) sheet.open = false;
    });
  });

  document.addEventListener("DOMContentLoaded", () => {
    settleSent();
    for (const form of document.forms) if (keepable(form)) putBack(form);
    document.querySelectorAll("[data-checklist]").forEach(countChecklist);
    wake(document);
    document.body.addEventListener("htmx:load", (event) => wake(event.detail.elt));
  });
})();
