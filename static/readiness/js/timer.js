/* The guided ten seconds: big words for what to do in each window, for an operator with both hands busy.
   Without this script the page shows the same list as print. */
(() => {
  "use strict";

  const box = document.querySelector("[data-timer]");
  const list = document.querySelector("[data-timer-list]");
  if (!box || !list) return;

  const part = (name) => box.querySelector(`[data-timer-${name}]`);
  const words = part("words");
  const how = part("how");
  const clock = part("clock");
  const bar = part("bar");
  const next = part("next");
  const start = part("start");
  const beep = part("beep");
  const duration = Number(box.dataset.duration);
  const leadIn = Number(box.dataset.leadIn);
  const idle = { words: words.textContent, how: how.textContent, clock: clock.textContent };
  const windows = [...list.querySelectorAll("li")].map((line) => ({
    line,
    start: Number(line.dataset.start),
    end: Number(line.dataset.end),
    words: line.dataset.words,
    how: line.dataset.how,
  }));
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  let began = null;
  let shown = null;
  let sound = null;
  let ticking = 0;

  box.hidden = false;

  function tone(hertz, seconds) {
    if (!beep.checked) return;
    const Sound = window.AudioContext || window.webkitAudioContext;
    if (!Sound) return;
    sound ??= new Sound();
    const from = sound.currentTime;
    const wave = sound.createOscillator();
    const volume = sound.createGain();
    wave.frequency.value = hertz;
    // A ramp at both ends: a tone that is cut off clicks.
    volume.gain.setValueAtTime(0, from);
    volume.gain.linearRampToValueAtTime(0.3, from + 0.01);
    volume.gain.setValueAtTime(0.3, from + seconds - 0.02);
    volume.gain.linearRampToValueAtTime(0, from + seconds);
    wave.connect(volume).connect(sound.destination);
    wave.start(from);
    wave.stop(from + seconds);
  }

  function say(text, detail, following) {
    if (words.textContent !== text) words.textContent = text;
    how.textContent = detail;
    next.textContent = following;
  }

  function mark(line) {
    for (const one of windows) one.line.toggleAttribute("data-now", one.line === line);
  }

  function run() {
    if (began !== null) return stop();
    began = performance.now() + leadIn;
    shown = null;
    start.textContent = "Stop";
    box.setAttribute("data-running", "");
    // Waking the sound inside the press: browsers allow it only there.
    tone(440, 0.05);
    ticking = setInterval(tick, 50);
    tick();
  }

  function stop() {
    clearInterval(ticking);
    began = null;
    start.textContent = "Start";
    box.removeAttribute("data-running");
    mark(null);
    bar.value = 0;
    clock.textContent = idle.clock;
    say(idle.words, idle.how, "");
  }

  function finish() {
    clearInterval(ticking);
    began = null;
    start.textContent = "Once more";
    box.removeAttribute("data-running");
    mark(null);
    bar.value = duration;
    clock.textContent = "0";
    say("Done", "Stop the recording and save it.", "");
    tone(660, 0.4);
  }

  function tick() {
    const gone = performance.now() - began;
    if (gone < 0) {
      const left = String(Math.ceil(-gone / 1000));
      if (shown !== left) {
        shown = left;
        say("Get ready", "Start the recording at zero.", `First: ${windows[0].words}`);
        tone(440, 0.08);
      }
      clock.textContent = left;
      return;
    }
    if (gone >= duration) return finish();
    const now = windows.find((one) => gone < one.end) ?? windows.at(-1);
    if (shown !== now) {
      shown = now;
      const after = windows[windows.indexOf(now) + 1];
      say(now.words, now.how, after ? `Next: ${after.words}` : "Last one");
      mark(now.line);
      tone(880, 0.15);
    }
    clock.textContent = String(Math.ceil((duration - gone) / 1000));
    // With reduced motion the bar steps once a second; else it glides.
    bar.value = still.matches ? Math.floor(gone / 1000) * 1000 : gone;
  }

  start.addEventListener("click", run);
  box.addEventListener("click", (event) => {
    if (!event.target.closest("button, label, input")) run();
  });
  document.addEventListener("keydown", (event) => {
    if (event.repeat || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input, textarea, select, button, a, summary")) return;
    if (event.key === " " || event.key === "Enter") {
      event.preventDefault();
      run();
    } else if (event.key === "Escape" && began !== null) {
      stop();
    }
  });
})();
