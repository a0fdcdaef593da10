/* The camera as a scanner: what it reads goes through the same box as what is typed. Where the browser cannot read codes
   itself, a photo is sent to the desk as soon as it is taken. */
(() => {
  "use strict";

  const LOOK_EVERY = 150;
  // A code stays in view after it was taken: it counts again only once it was away for so long.
  const AWAY = 1500;
  const OPEN = "kitdesk.camera";
  const LAST = "kitdesk.camera.last";
  const ALLOWED = Boolean(window.BarcodeDetector && navigator.mediaDevices?.getUserMedia);

  let view = null;

  const memory = {
    get: (name) => {
      try {
        return JSON.parse(sessionStorage.getItem(name));
      } catch {
        return null;
      }
    },
    set: (name, value) => {
      try {
        sessionStorage.setItem(name, JSON.stringify(value));
      } catch {
        // Storage forbidden: the camera closes with the page.
      }
    },
  };

  function element(name, properties) {
    return Object.assign(document.createElement(name), properties);
  }

  function drawView() {
    const dialog = element("dialog", { className: "camera-view" });
    const video = element("video", { muted: true, playsInline: true, autoplay: true });
    const words = element("p", { textContent: "Hold the code into the picture." });
    words.setAttribute("role", "status");
    const close = element("button", { type: "button", className: "do", textContent: "Close" });
    close.addEventListener("click", () => dialog.close());
    dialog.setAttribute("aria-label", "Camera");
    dialog.append(video, words, close);
    document.body.append(dialog);
    return { dialog, video, words };
  }

  function say(text) {
    if (view && text) view.words.textContent = text;
  }

  // The box that a camera serves: of its own form, or the one that its form names.
  function boxOf(camera) {
    const form = camera.closest("form");
    const named = form.dataset.cameraFor;
    return named ? document.getElementById(named) : form.querySelector("[name=scan]");
  }

  function take(text, box) {
    const last = memory.get(LAST);
    memory.set(LAST, { text, at: Date.now() });
    if (last?.text === text && Date.now() - last.at < AWAY) return;
    const stays = box.name === "scan";
    if (!stays) memory.set(OPEN, null);
    box.value = text;
    box.form.requestSubmit();
  }

  async function look(detector, box) {
    const mine = view;
    try {
      const found = await detector.detect(mine.video);
      const texts = [...new Set(found.map((code) => code.rawValue.trim()).filter(Boolean))];
      if (view === mine && texts.length === 1) take(texts[0], box);
      if (texts.length > 1) say("Several codes are in the picture: show one of them.");
    } catch {
      // A picture that is not there yet; the next look finds it.
    }
    if (view === mine) setTimeout(look, LOOK_EVERY, detector, box);
  }

  function stop() {
    view.video.srcObject?.getTracks().forEach((track) => track.stop());
    view.dialog.remove();
    view = null;
    memory.set(OPEN, null);
  }

  function noCamera(camera) {
    document.documentElement.classList.remove("has-camera");
    const words = camera.querySelector("[data-camera-said]");
    words.textContent = "The camera does not open, or may not be used here. Take a photo instead.";
    words.hidden = false;
  }

  async function open(camera) {
    if (view) return;
    let stream;
    try {
      const rear = { video: { facingMode: "environment" }, audio: false };
      stream = await navigator.mediaDevices.getUserMedia(rear);
    } catch {
      return noCamera(camera);
    }
    view = drawView();
    view.dialog.addEventListener("close", stop);
    view.video.srcObject = stream;
    view.dialog.showModal();
    memory.set(OPEN, location.pathname);
    look(new window.BarcodeDetector(), boxOf(camera));
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-camera-open]");
    if (button) open(button.closest("[data-camera]"));
  });
  // A photo goes as it is taken; pressing the button after that is asking for the next photo.
  document.addEventListener("click", (event) => {
    const reads = event.target.closest?.(".camera-photo [type=submit]");
    const file = reads?.parentElement.querySelector("[type=file]");
    if (!file || file.files.length) return;
    event.preventDefault();
    file.click();
  });
  document.addEventListener("change", (event) => {
    const file = event.target;
    if (!file.matches("form.scan-part [type=file][name=photo]") || !file.files.length) return;
    file.form.requestSubmit();
  });
  // What the page says of a scan stands behind the view: it is repeated in it.
  document.addEventListener("scan:answered", (event) => {
    const { outcome } = event.detail;
    if (outcome === "unkept") say("Not kept: no connection.");
    else setTimeout(() => say(document.getElementById("scan-said")?.textContent.trim()), 0);
  });

  if (!ALLOWED) return;
  window.BarcodeDetector.getSupportedFormats().then((formats) => {
    if (!formats.includes("qr_code")) return;
    document.documentElement.classList.add("has-camera");
    const camera = document.querySelector("form [data-camera]");
    if (!camera || memory.get(OPEN) !== location.pathname) return memory.set(OPEN, null);
    // A scan has led back to this page: the camera stays open.
    open(camera).then(() => say(document.getElementById("messages")?.textContent.trim()));
  });
})();
