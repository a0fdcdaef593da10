/* Rows that are kept as soon as they are touched, and boxes that take one scan after the other: each press becomes an
   act of the outbox with what it held at that moment. */
(() => {
  "use strict";

  const PATIENCE = 15_000;
  const { outbox, fields, place } = window.Kitdesk;
  if (!window.htmx) return;

  // An act sent twice is done once: both carry the same key.
  function newKey() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
  }

  const rowOf = (element) => element.closest(".checklist-row, form, li, tr") || element;
  // Answers may have put another element in its place.
  const inPage = (element) => (element.id && document.getElementById(element.id)) || element;
  function ownFields(element) {
    const all = element.matches("form")
      ? element.elements
      : element.querySelectorAll(fields.FIELDS);
    return [...all].filter(
      (field) => field.matches(fields.FIELDS) && field.name && !field.disabled,
    );
  }
  function statesIn(row) {
    const shown = ownFields(row).filter((field) => field.type !== "hidden");
    return new Map(shown.map((field) => [fields.keyOf(field), fields.stateOf(field)]));
  }

  const lastOf = (row) => outbox.waiting.filter((act) => act.states && act.row() === row).at(-1);

  function bodyOf(element, gathered) {
    const body = new FormData();
    if (element.matches("form, button"))
      for (const [name, value] of gathered) body.append(name, value);
    else {
      // A row is sent with its own fields, not with those of the whole form around it, and a photo once.
      const before = lastOf(rowOf(element))?.states;
      for (const field of ownFields(element)) {
        if (field.type === "file") {
          if (before?.get(field.name) === field.value) continue;
          for (const file of field.files) body.append(field.name, file);
        } else if (!fields.isChoice(field) || field.checked) body.append(field.name, field.value);
      }
    }
    return body;
  }

  const wordsOf = (body) =>
    JSON.stringify(
      [...body]
        .filter(([name]) => name !== "form_key")
        .map(([name, value]) => [name, value.name || value]),
    );

  // The choice returns to what the server knows; what was typed stays.
  function putBack(row) {
    for (const field of ownFields(row)) {
      if (fields.isChoice(field)) field.checked = field.defaultChecked;
      else if (field.tagName === "SELECT")
        for (const option of field.options) option.selected = option.defaultSelected;
    }
  }

  function makeAct({ element, target, style, path, headers, body, label, lost }) {
    const row = rowOf(element);
    const states = statesIn(row);
    const words = wordsOf(body);
    if (!body.has("form_key")) body.append("form_key", newKey());
    delete headers["Content-Type"];
    return {
      words,
      states,
      label: label || row.querySelector(".checklist-title")?.textContent || "this act",
      headers,
      scan: element.matches(".scan-part"),
      again: true,
      patience: PATIENCE,
      path: () => path,
      body: () => body,
      row: () => inPage(row),
      pressed: () => [inPage(element)],
      heldUp: () => putBack(inPage(row)),
      answered({ html, goesTo }) {
        if (goesTo) return goesTo;
        place(style === "none" ? null : inPage(target), html, style, states);
        inPage(row).dispatchEvent(new CustomEvent("act:kept", { bubbles: true }));
        return null;
      },
      leftOut: () => lost?.(),
      refused(text) {
        putBack(inPage(row));
        lost?.();
        window.Kitdesk.refused(inPage(row), text);
      },
    };
  }

  document.addEventListener("htmx:configRequest", (event) => {
    const { elt: element, verb, path, headers, formData, target } = event.detail;
    if (verb !== "post" || element.matches("[data-unqueued]")) return;
    event.preventDefault();
    if (event.detail.errors.length) return;
    const style =
      element.closest("[hx-swap]")?.getAttribute("hx-swap").split(" ")[0] ||
      window.htmx.config.defaultSwapStyle;
    const act = makeAct({ element, target, style, path, headers, body: bodyOf(element, formData) });
    const last = outbox.waiting.at(-1);
    // The same press once more while it waits: it is tried at once.
    if (last?.path() === path && last.words === act.words) outbox.tryNow();
    else outbox.add(act);
  });

  // A row that was put back still means what waits: the next choice in it is made on top of that.
  document.addEventListener(
    "change",
    (event) => {
      const row = rowOf(event.target);
      const last = lastOf(row);
      if (!last) return;
      for (const field of ownFields(row)) {
        if (field.name === event.target.name || !last.states.has(fields.keyOf(field))) continue;
        if (fields.isChoice(field)) field.checked = last.states.get(fields.keyOf(field));
        else if (field.tagName === "SELECT") field.value = last.states.get(fields.keyOf(field));
      }
    },
    true,
  );

  // A scan box that stays on its page is emptied at once, so that a scanner faster than the answers loses nothing.
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("[data-scans]")) return;
    event.preventDefault();
    const body = new FormData(form);
    form.querySelectorAll("[data-stays]").forEach((box) => (box.defaultValue = box.value));
    form.reset();
    if (body.get("photo")?.size === 0) body.delete("photo");
    const label = body.get("scan") || "the photo";
    const lost = () =>
      body.forEach((text, name) => {
        if (typeof text === "string") form.elements[name].value ||= text;
      });
    const headers = { "HX-Request": "true" };
    outbox.add(
      makeAct({
        element: form,
        target: form,
        style: "none",
        path: form.getAttribute("action"),
        headers,
        body,
        label,
        lost,
      }),
    );
  });
})();
