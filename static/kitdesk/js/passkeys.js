/* Says in the page that a passkey was not taken; the library's script would tell the console alone. */
(() => {
  "use strict";

  document.addEventListener("allauth.error", (event) => {
    event.preventDefault();
    const place = document.getElementById("passkey-trouble");
    if (place) place.hidden = false;
  });
})();
