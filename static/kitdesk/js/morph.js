/* An answer takes its place in the page without touching what is being typed, chosen or focused meanwhile. */
(() => {
  "use strict";

  const FIELDS = "input, select, textarea";
  const FOCUSABLE = "a[href], button, input:not([type=hidden]), select, textarea, summary";
  const isChoice = (field) => field.matches("[type=checkbox], [type=radio]");
  const keyOf = (field) => (isChoice(field) ? `${field.name}=${field.value}` : field.name);
  const stateOf = (field) => (isChoice(field) ? field.checked : field.value);
  function defaultOf(field) {
    if (isChoice(field)) return field.defaultChecked;
    if (field.tagName !== "SELECT") return field.defaultValue;
    return ([...field.options].find((option) => option.defaultSelected) || field.options[0])?.value;
  }

  // What the act now being answered had sent: only what was changed since is newer than the answer.
  let sentStates = new Map();

  const isNewer = (field) =>
    field.name &&
    field.type !== "hidden" &&
    stateOf(field) !== defaultOf(field) &&
    stateOf(field) !== sentStates.get(keyOf(field));
  const isTypedIn = (field) =>
    field === document.activeElement && !isChoice(field) && field.type !== "file";
  // What keeps its state, as one decision before anything changes: the radios of one choice stay together.
  function statesThatStay(place) {
    const all = [...place.querySelectorAll(FIELDS)];
    const names = new Set(
      all.filter((field) => field.type === "radio" && isNewer(field)).map((field) => field.name),
    );
    const staying = all.filter(
      (field) =>
        isTypedIn(field) || isNewer(field) || (field.type === "radio" && names.has(field.name)),
    );
    return new Map(staying.map((field) => [field, stateOf(field)]));
  }
  function mustStay(place) {
    if (place.contains(document.activeElement)) return true;
    return [...place.querySelectorAll(FIELDS)].some(isNewer);
  }

  function takeAttributes(old, fresh) {
    for (const { name } of [...old.attributes]) {
      // A list that the operator has opened stays open.
      if (!fresh.hasAttribute(name) && !(name === "open" && old.tagName === "DETAILS"))
        old.removeAttribute(name);
    }
    for (const { name, value } of fresh.attributes)
      if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }

  let staying = new Map();
  function takeField(old, fresh) {
    const stays = staying.has(old);
    const state = staying.get(old);
    takeAttributes(old, fresh);
    if (old.tagName !== "INPUT") takeChildren(old, fresh);
    if (isChoice(old)) old.checked = stays ? state : fresh.checked;
    else if (old.type === "file") {
      if (!stays) old.value = "";
    } else if (old.value !== (stays ? state : fresh.value)) old.value = stays ? state : fresh.value;
  }

  const alike = (old, fresh) =>
    old.nodeType === fresh.nodeType &&
    old.nodeName === fresh.nodeName &&
    (old.id || "") === (fresh.id || "");

  function takeChildren(old, fresh) {
    let place = old.firstChild;
    for (const child of [...fresh.childNodes]) {
      let match = place;
      while (match && !alike(match, child)) match = match.nextSibling;
      if (!match) {
        old.insertBefore(child, place);
        continue;
      }
      while (place !== match) {
        const gone = place;
        place = place.nextSibling;
        gone.remove();
      }
      place = match.nextSibling;
      take(match, child);
    }
    while (place) {
      const gone = place;
      place = place.nextSibling;
      gone.remove();
    }
  }

  function take(old, fresh) {
    if (old.nodeType !== Node.ELEMENT_NODE) {
      if (old.nodeValue !== fresh.nodeValue) old.nodeValue = fresh.nodeValue;
    } else if (old.matches(FIELDS)) takeField(old, fresh);
    else {
      takeAttributes(old, fresh);
      takeChildren(old, fresh);
    }
  }

  // Where the focused control itself is gone, the focus goes to the one that has its place now.
  function morph(old, fresh) {
    const focused = old.contains(document.activeElement) ? document.activeElement : null;
    const at = focused ? [...old.querySelectorAll(FOCUSABLE)].indexOf(focused) : -1;
    staying = statesThatStay(old);
    take(old, fresh);
    if (!focused || focused.isConnected) return;
    const all = [...old.querySelectorAll(FOCUSABLE)];
    (all[Math.min(at, all.length - 1)] || old).focus();
  }

  window.htmx?.defineExtension("morph", {
    isInlineSwap: (style) => style === "morph",
    handleSwap(style, target, fragment) {
      if (style !== "morph" || !fragment.firstElementChild) return false;
      morph(target, fragment.firstElementChild);
      return [target];
    },
  });

  document.addEventListener("htmx:beforeSwap", (event) => {
    const style =
      event.detail.swapOverride ||
      event.detail.elt.closest("[hx-swap]")?.getAttribute("hx-swap") ||
      window.htmx.config.defaultSwapStyle;
    if (style.startsWith("outerHTML") && mustStay(event.detail.target))
      event.detail.swapOverride = "morph";
  });
  document.addEventListener("htmx:oobBeforeSwap", (event) => {
    const { target, fragment } = event.detail;
    const fresh = fragment.firstElementChild;
    if (!fresh || fresh.id !== target.id || !mustStay(target)) return;
    event.detail.shouldSwap = false;
    morph(target, fresh);
    window.htmx.process(target);
  });

  // Puts the answer to an act in place of `target`; `was` is what its fields held when it was done.
  function place(target, html, style, was) {
    sentStates = was;
    const careful = style === "outerHTML" && target && mustStay(target) ? "morph" : style;
    try {
      window.htmx.swap(
        target || document.body,
        html,
        { swapStyle: careful, swapDelay: 0, settleDelay: 0 },
        { contextElement: target || document.body },
      );
    } finally {
      sentStates = new Map();
    }
  }

  window.Kitdesk = Object.assign(window.Kitdesk || {}, {
    fields: { FIELDS, isChoice, keyOf, stateOf },
    place,
  });
})();
