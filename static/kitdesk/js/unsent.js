/* Says what is under way and what was not kept: at its row or form, and in one line that stays in sight. */
(() => {
  "use strict";

  function whatWaits({ waiting, failure }) {
    const alone = waiting.length === 1;
    const many = alone ? "1 act waits" : `${waiting.length} acts wait`;
    if (!failure.again)
      return `${many} until you try again. It may have arrived all the same: look first.`;
    return alone
      ? `${many} and is sent by itself.`
      : `${many} and are sent by themselves, in order.`;
  }

  function button(words, press) {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "do";
    made.textContent = words;
    made.addEventListener("click", press);
    return made;
  }

  function words(text) {
    const made = document.createElement("p");
    made.textContent = text;
    return made;
  }

  function signInLink(address) {
    const made = document.createElement("a");
    made.href = address;
    made.target = "_blank";
    made.textContent = "Sign in";
    return made;
  }

  let shown = "";
  function showLine({ waiting, failure }) {
    const box = document.getElementById("unsent");
    if (!box) return;
    const text =
      failure && waiting.length
        ? `Not kept: ${failure.why}. ${whatWaits({ waiting, failure })}`
        : "";
    // Said once, not at every try.
    if (text === shown && (text === "" || box.hasChildNodes())) return;
    shown = text;
    if (!text) return box.replaceChildren();
    const { outbox } = window.Kitdesk;
    const parts = [
      words(text),
      button("Try now", () => outbox.tryNow()),
      button(`Leave out: ${waiting[0].label}`, () => outbox.leaveOut()),
    ];
    if (failure.signIn) parts.splice(1, 0, signInLink(failure.signIn));
    box.replaceChildren(...parts);
  }

  function note(place, text) {
    const made = words(text);
    made.className = "unsent-note";
    made.setAttribute("data-unsent-note", "");
    place.append(made);
  }

  // Drawn anew from what waits: a row may have been replaced meanwhile.
  function markRows({ waiting, underWay, failure }) {
    document.querySelectorAll("[data-unsent-note]").forEach((old) => old.remove());
    document.querySelectorAll("[data-under-way]").forEach((old) => {
      old.removeAttribute("data-under-way");
      old.removeAttribute("aria-busy");
    });
    const noted = new Set();
    for (const act of waiting) {
      const busy = !failure || (underWay && act === waiting[0]);
      const row = act.row();
      if (busy) {
        for (const pressed of [row, ...act.pressed()]) {
          pressed.setAttribute("data-under-way", "");
          pressed.setAttribute("aria-busy", "true");
        }
      }
      if (failure && !noted.has(row)) note(row, `Not kept: ${failure.why}.`);
      noted.add(row);
    }
  }

  document.addEventListener("outbox:changed", (event) => {
    showLine(event.detail);
    markRows(event.detail);
  });

  // A refusal stays at its place until an act there is kept.
  document.addEventListener("act:kept", (event) =>
    event.target.querySelectorAll("[data-refused-note]").forEach((old) => old.remove()),
  );
  function refused(place, text) {
    const made = words(`Not kept: ${text}.`);
    made.className = "errors";
    made.setAttribute("role", "alert");
    made.setAttribute("data-refused-note", "");
    place.querySelectorAll("[data-refused-note]").forEach((old) => old.remove());
    place.append(made);
  }

  window.Kitdesk = Object.assign(window.Kitdesk || {}, { refused });
})();
