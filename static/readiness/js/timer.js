/* The guided ten seconds: big words for what to do in each window, for an operator with both hands busy. Where a page
   lists several tests they follow one another, with time between them to save the recording and to get ready.
   Without this script the page shows the same lists as print. */
(() => {
  "use strict";

  const box = document.querySelector("[data-timer]");
  const lists = [...document.querySelectorAll("[data-timer-list]")];
  if (!box || !lists.length) return;

  const part = (name) => box.querySelector(`[data-timer-${name}]`);
  const words = part("words");
  const how = part("how");
  const clock = part("clock");
  const bar = part("bar");
  const next = part("next");
  const start = part("start");
  const beep = part("beep");
  const title = part("title");
  const wait = part("wait");
  const duration = Number(box.dataset.duration);
  const leadIn = Number(box.dataset.leadIn);
  const pause = Number(box.dataset.pause || 0);
  const idle = { words: words.textContent, how: how.textContent, clock: clock.textContent };
  const tests = lists.map((list) => ({
    title: list.dataset.title || "",
    ready: list.dataset.ready || "",
    windows: [...list.children].map((line) => ({
      line,
      start: Number(line.dataset.start),
      end: Number(line.dataset.end),
      words: line.dataset.words,
      how: line.dataset.how,
    })),
  }));
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  let at = 0;
  let began = null;
  let goesOn = null;
  let left = null;
  let shown = null;
  let sound = null;
  let ticking = 0;

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

  function nameTest() {
    if (title) title.textContent = `Test ${at + 1} of ${tests.length}: ${tests[at].title}`;
    if (resting()) how.textContent = `${tests[at].ready} ${idle.how}`.trim();
  }

  function mark(line) {
    for (const test of tests)
      for (const one of test.windows) one.line.toggleAttribute("data-now", one.line === line);
  }

  function every(step) {
    clearInterval(ticking);
    ticking = setInterval(step, 50);
    step();
  }

  const resting = () => began === null && goesOn === null && left === null;

  function press() {
    if (began !== null) return stop();
    goesOn = left = null;
    run();
  }

  function run() {
    began = performance.now() + leadIn;
    shown = null;
    nameTest();
    start.textContent = "Stop";
    if (wait) wait.hidden = true;
    box.setAttribute("data-running", "");
    // Waking the sound inside the press: browsers allow it only there.
    tone(440, 0.05);
    every(tick);
    // Pressed from below or above on a phone: the big words must stand in sight for the ten seconds.
    box.scrollIntoView({ block: "nearest" });
  }

  function rest() {
    clearInterval(ticking);
    began = goesOn = left = null;
    if (wait) wait.hidden = true;
    box.removeAttribute("data-running");
    mark(null);
  }

  function stop() {
    rest();
    start.textContent = "Start";
    bar.value = 0;
    clock.textContent = idle.clock;
    say(idle.words, idle.how, "");
    nameTest();
  }

  function finish() {
    rest();
    bar.value = duration;
    clock.textContent = "0";
    tone(660, 0.4);
    if (at + 1 < tests.length) return between();
    at = 0;
    start.textContent = "Once more";
    say("Done", tests.length > 1 ? "Save the last recording, then drop all files below." : "Stop the recording and save it.", "");
  }

  // Time to save and to get ready; it goes on by itself, so that no hand must leave the bench.
  function between() {
    at += 1;
    nameTest();
    goesOn = performance.now() + pause;
    start.textContent = "Go on";
    wait.textContent = "Wait";
    wait.hidden = false;
    say("Save it", `Stop the recording and save it. Then: ${tests[at].ready}`, `Next: ${tests[at].title}`);
    every(count);
  }

  function count() {
    const rests = goesOn - performance.now();
    clock.textContent = String(Math.max(0, Math.ceil(rests / 1000)));
    if (rests > 0) return;
    goesOn = null;
    run();
  }

  function holdOrGoOn() {
    if (goesOn !== null) {
      left = goesOn - performance.now();
      goesOn = null;
      clearInterval(ticking);
      wait.textContent = "Count on";
    } else if (left !== null) {
      goesOn = performance.now() + left;
      left = null;
      wait.textContent = "Wait";
      every(count);
    }
  }

  function tick() {
    const { windows } = tests[at];
    const gone = performance.now() - began;
    if (gone < 0) {
      const seconds = String(Math.ceil(-gone / 1000));
      if (shown !== seconds) {
        shown = seconds;
        say("Get ready", "Start the recording at zero.", `First: ${windows[0].words}`);
        tone(440, 0.08);
      }
      clock.textContent = seconds;
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

  box.hidden = false;
  nameTest();

  // The button of a round's first start sends its form as well: the desk then knows which kit is at hand.
  start.addEventListener("click", (event) => {
    if (!resting() || at > 0) event.preventDefault();
    press();
  });
  function pressElsewhere() {
    const begins = resting() && at === 0;
    press();
    if (begins) start.form?.requestSubmit();
  }
  wait?.addEventListener("click", holdOrGoOn);
  box.addEventListener("click", (event) => {
    if (!event.target.closest("button, label, input")) pressElsewhere();
  });
  document.addEventListener("keydown", (event) => {
    if (event.repeat || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input, textarea, select, button, a, summary")) return;
    if (event.key === " " || event.key === "Enter") {
      event.preventDefault();
      pressElsewhere();
    } else if (event.key === "Escape" && !resting()) {
      stop();
    }
  });
})();
