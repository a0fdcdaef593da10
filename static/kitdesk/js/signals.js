/* How a scan went, for an eye that is on the parcel: a short tone and a short vibration, one for right, one for wrong, one
   for what was not kept. Switched off in the menu under the name. */
(() => {
  "use strict";

  // Hertz and milliseconds of each tone; milliseconds of vibration and rest.
  const SIGNALS = {
    accepted: { tones: [[880, 70]], vibration: [40] },
    refused: {
      tones: [
        [220, 110],
        [0, 50],
        [220, 110],
      ],
      vibration: [90, 60, 90],
    },
    unkept: { tones: [[150, 350]], vibration: [300] },
  };
  const VOLUME = 0.2;
  const SCANNED = "kitdesk.scanned";
  const TOO_LATE = 300;

  let context = null;
  let until = 0;

  // A browser lets a page sound only after a key or a touch: what it does not play now it must not play later.
  function soundBox() {
    if (context && context.state !== "closed") return context;
    const made = new AudioContext();
    context = made;
    setTimeout(() => made.state === "suspended" && made.close(), TOO_LATE);
    return made;
  }

  function playTone(box, from, hertz, milliseconds) {
    if (!hertz) return;
    const tone = box.createOscillator();
    const volume = box.createGain();
    tone.frequency.value = hertz;
    volume.gain.value = VOLUME;
    tone.connect(volume);
    volume.connect(box.destination);
    tone.start(from);
    tone.stop(from + milliseconds / 1000);
  }

  function play(tones) {
    if (!window.AudioContext) return;
    const box = soundBox();
    let from = box.currentTime;
    for (const [hertz, milliseconds] of tones) {
      playTone(box, from, hertz, milliseconds);
      from += milliseconds / 1000;
    }
  }

  function vibrate(pattern) {
    if (navigator.userActivation?.hasBeenActive !== false) navigator.vibrate?.(pattern);
  }

  function give(outcome) {
    const signal = SIGNALS[outcome];
    if (!signal || !document.body.hasAttribute("data-signals")) return;
    until = Date.now() + signal.tones.reduce((sum, [, milliseconds]) => sum + milliseconds, 0);
    try {
      vibrate(signal.vibration);
      play(signal.tones);
    } catch {
      // A device that cannot sound stays silent: the words on the page say the same.
    }
  }

  // A scan that leads to another page is answered there.
  function remember(outcome) {
    try {
      if (outcome) sessionStorage.setItem(SCANNED, outcome);
      else sessionStorage.removeItem(SCANNED);
    } catch {
      // Storage forbidden: no signal after a change of page.
    }
  }
  const remembered = () => {
    try {
      return sessionStorage.getItem(SCANNED);
    } catch {
      return null;
    }
  };

  const REFUSED = "[data-scan-refused], .scan-part .errors, #messages .message-error";
  document.addEventListener("submit", ({ target: form }) => {
    if (form.method === "get" && form.matches(".scan, .scan-part")) remember("asked");
  });
  if (remembered()) {
    remember("");
    give(document.querySelector(REFUSED) ? "refused" : "accepted");
  }

  document.addEventListener("scan:answered", (event) => give(event.detail.outcome));

  window.Kitdesk = Object.assign(window.Kitdesk || {}, {
    // Milliseconds that the signal under way still takes: leaving the page would cut it short.
    signalLeft: () => Math.max(until - Date.now(), 0),
  });
})();
