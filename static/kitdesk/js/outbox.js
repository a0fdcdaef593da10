/* What was done on this page and the desk has not answered yet: one request at a time, in the order of the acts. An act
   that meets no connection stays at the head and is tried again by itself; those behind it wait.

   An act is an object: label, path(), body(), headers, patience (ms), again (whether it may be repeated unasked), row()
   and pressed() (what shows how it is), scan (whether its outcome is told to ear and hand), and what follows from the answer: answered(answer) returns where to go next, or
   nothing; refused(words); heldUp() while it waits; leftOut() where the operator gives it up. */
(() => {
  "use strict";

  const FIRST_WAIT = 1000;
  const LONGEST_WAIT = 30_000;
  const LATER = new Set([408, 425, 429]);
  const REFUSALS = {
    403: "this account may not do it, or the page has gone stale",
    404: "it is not there any more",
    410: "it is not there any more",
    413: "it is too large",
  };

  const waiting = [];
  let underWay = false;
  let failure = null;
  let wait = FIRST_WAIT;
  let timer = 0;
  let destination = null;

  // Asked only while something would be lost: a page that always asks is not kept for the way back.
  const askFirst = (event) => event.preventDefault();
  function changed() {
    const ask = failure || waiting.length > 1 ? "addEventListener" : "removeEventListener";
    window[ask]("beforeunload", askFirst);
    document.dispatchEvent(
      new CustomEvent("outbox:changed", { detail: { waiting, underWay, failure } }),
    );
  }

  // The cookie knows the token of the newest sign-in; the page may be older.
  const token = () => document.cookie.match(/(?:^|; )csrftoken=([^;]+)/)?.[1];
  function withToken(body) {
    if (token()) body.delete("csrfmiddlewaretoken");
    return body;
  }

  const sizeOf = (body) =>
    [...body].reduce(
      (size, [name, value]) => size + name.length + 200 + (value.size ?? value.length * 3),
      0,
    );
  // A request that is small enough goes on when the page is left meanwhile.
  const ROOM = 60_000;
  // A photo over a poor line is no silence.
  const BYTES_PER_MS = 20;

  async function deliver(act) {
    const patience = new AbortController();
    const body = withToken(act.body());
    const size = sizeOf(body);
    const clock = setTimeout(() => patience.abort(), act.patience + size / BYTES_PER_MS);
    const headers = {
      ...act.headers,
      "Kitdesk-Script": "1",
      ...(token() && { "X-CSRFToken": token() }),
    };
    try {
      const response = await fetch(act.path(), {
        method: "POST",
        body,
        headers,
        keepalive: size < ROOM,
        signal: patience.signal,
      });
      const html = await response.text();
      return judge(act, response, html);
    } catch {
      return { failure: { why: patience.signal.aborted ? "no answer in time" : "no connection" } };
    } finally {
      clearTimeout(clock);
    }
  }

  // Said once, at the first try that has an outcome.
  function tell(act, outcome) {
    if (!act.scan || act.told === outcome) return;
    act.told = outcome;
    document.dispatchEvent(new CustomEvent("scan:answered", { detail: { outcome } }));
  }

  function judge(act, response, html) {
    const goesTo = response.headers.get("Kitdesk-Goes-To") || response.headers.get("HX-Redirect");
    const signIn = document.body.dataset.signIn;
    if (goesTo && signIn && goesTo.startsWith(signIn) && !act.mayLeave)
      return { failure: { why: "you are signed out", signIn } };
    if (response.ok || response.status === 422)
      return {
        html,
        goesTo,
        outcome: response.status === 422 ? "refused" : response.headers.get("Kitdesk-Scan") || "accepted",
      };
    if (response.status >= 500 || LATER.has(response.status))
      return { failure: { why: `the desk failed (${response.status})` } };
    return {
      refusal: `${REFUSALS[response.status] || "the desk refused it"} (${response.status})`,
    };
  }

  async function tryNow() {
    if (underWay) return;
    clearTimeout(timer);
    while (waiting.length) {
      const act = waiting[0];
      underWay = true;
      changed();
      const answer = await deliver(act);
      underWay = false;
      tell(act, answer.failure ? "unkept" : answer.outcome || "refused");
      if (answer.failure) return stop(act, answer.failure);
      waiting.shift();
      failure = null;
      wait = FIRST_WAIT;
      if (answer.refusal) act.refused(answer.refusal);
      else destination = act.answered(answer) || destination;
    }
    if (destination) leave();
    else changed();
  }

  function stop(act, met) {
    failure = { ...met, act, again: act.again };
    for (const later of waiting) later.heldUp?.();
    if (act.again) timer = setTimeout(tryNow, wait);
    wait = Math.min(wait * 2, LONGEST_WAIT);
    changed();
  }

  // On the way to the next page what was under way goes on looking so.
  function leave() {
    window.removeEventListener("beforeunload", askFirst);
    const to = new URL(destination, location.href);
    destination = null;
    const signal = window.Kitdesk.signalLeft();
    if (signal) setTimeout(() => goTo(to), signal);
    else goTo(to);
  }
  function goTo(to) {
    if (to.hash && to.pathname + to.search === location.pathname + location.search) {
      // Only the place within the page differs: the browser would not ask for the page again.
      location.hash = to.hash;
      location.reload();
    } else location.assign(to);
  }

  const tryAgain = () => {
    if (failure?.again) tryNow();
  };
  window.addEventListener("online", tryAgain);
  document.addEventListener("visibilitychange", () => document.hidden || tryAgain());
  window.addEventListener("pageshow", (event) => event.persisted && changed());

  window.Kitdesk = Object.assign(window.Kitdesk || {}, {
    outbox: {
      waiting,
      tryNow,
      add(act) {
        waiting.push(act);
        if (failure && !failure.again) act.heldUp?.();
        changed();
        if (!failure || failure.again) tryNow();
      },
      leaveOut() {
        if (underWay || !waiting.length) return;
        waiting.shift().leftOut?.();
        failure = null;
        changed();
        tryNow();
      },
    },
  });
})();
