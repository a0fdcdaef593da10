/* Kitdesk's small script. Every page works without it; it only saves steps for the person at the bench. */
(() => {
  "use strict";

  const FREE_TEXT =
    "input:not([type=checkbox], [type=radio], [type=button], [type=submit], [type=number], [type=date], [type=file])" +
    ", textarea, [contenteditable]";

  // Whether a key is a letter of what is typed. A box for codes takes none before its first letter
  // or figure; later it does: a scanned label may be a whole address.
  function isTyped(place) {
    const box = place.closest?.(FREE_TEXT);
    return Boolean(box) && !(box.matches("[autocapitalize=characters]") && box.value === "");
  }

  // "/" goes to the scan box, "?" to the page of keys.
  document.addEventListener("keydown", (event) => {
    if (!["/", "?"].includes(event.key) || event.ctrlKey || event.metaKey || event.altKey) return;
    const box = document.getElementById("scan-box");
    if (!box || isTyped(event.target)) return;
    event.preventDefault();
    if (event.key === "?") {
      window.location.assign(document.body.dataset.keys);
      return;
    }
    box.focus();
    box.select();
  });

  // Arrow keys walk a checklist in packing order; inside a choice they choose, as the browser does.
  document.addEventListener("keydown", (event) => {
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const list = event.target.closest?.("[data-checklist], [data-walk]");
    const rows = "[type=checkbox]:not(:disabled), button[aria-pressed]";
    if (!step || !list || !event.target.matches(rows)) return;
    const all = [...list.querySelectorAll(rows)];
    const next = all[all.indexOf(event.target) + step];
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

  document.addEventListener("typed:changed", (event) => event.target.querySelectorAll("[data-checklist]").forEach(countChecklist));

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
    const first = root.querySelector("[data-autofocus]");
    first?.focus();
    // What is typed or scanned next takes the place of what was not found.
    if (first?.matches("[data-autoselect]")) first.select();
  }
  // An open sheet (More, the signed-in name) closes with Escape and with a press elsewhere.
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    const open = document.querySelector(".nav-more details[open], .who[open]");
    if (!open) return;
    open.open = false;
    open.querySelector("summary").focus();
  });
  // An iPhone makes no click of a tap beside any control.
  document.addEventListener("pointerdown", (event) => {
    document.querySelectorAll(".nav-more details[open], .who[open]").forEach((sheet) => {
      if (!sheet.contains(event.target)) sheet.open = false;
    });
  });

  function wakePart(root) {
    wake(root);
    root.querySelectorAll("[data-checklist]").forEach(countChecklist);
  }
  document.addEventListener("DOMContentLoaded", () => wakePart(document));
  document.addEventListener("htmx:load", (event) => event.detail.elt !== document.body && wakePart(event.detail.elt));
})();
