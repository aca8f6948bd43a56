// The desk's only script: replaces the living part of a page as its event stream brings news,
// repeats the alarm until somebody has taken it, and says so when the stream breaks.
"use strict";
(() => {
  const notice = document.getElementById("stopped");
  const main = document.getElementById("main");
  const beatEvery = 5000;
  let heard = Date.now();
  let alarm = null;

  const clock = (at) => {
    const two = (n) => String(n).padStart(2, "0");
    return two(at.getHours()) + ":" + two(at.getMinutes());
  };

  // The page's own clock text is the house's time; it is what stopped.
  const stop = () => {
    if (!notice.hidden) return;
    const shown = document.querySelector("#now time");
    notice.textContent = notice.dataset.words.replace("{time}", shown ? shown.textContent : clock(new Date(heard)));
    notice.hidden = false;
    document.documentElement.classList.add("is-stopped");
  };

  const alive = () => {
    heard = Date.now();
    notice.hidden = true;
    document.documentElement.classList.remove("is-stopped");
  };

  // Never replaces what somebody is typing into or has unfolded.
  const replace = (part) => {
    const here = document.getElementById(part.id);
    if (!here) return;
    if (here.contains(document.activeElement) && document.activeElement.matches("input, textarea, select")) return;
    // What says the same stays, with whatever somebody has marked in it to copy.
    if (here.isEqualNode(part)) return;
    const focused = here.contains(document.activeElement) ? document.activeElement.id : "";
    here.replaceWith(part);
    if (focused) {
      const again = document.getElementById(focused);
      if (again) again.focus();
    }
  };

  // A control that is just being pressed is not taken from under the finger: its press would be lost. News wait for a
  // second at most, for the end of a press outside of the window is not always told.
  const PRESS_MS = 1000;
  let pressed = 0;
  const later = [];
  const released = () => {
    clearTimeout(pressed);
    pressed = 0;
    later.splice(0).forEach(take);
  };
  document.addEventListener("pointerdown", () => {
    clearTimeout(pressed);
    pressed = setTimeout(released, PRESS_MS);
  });
  for (const end of ["pointerup", "pointercancel"]) {
    // The click comes after it.
    document.addEventListener(end, () => setTimeout(released));
  }

  const take = (event) => {
    alive();
    if (pressed) {
      later.push(event);
      return;
    }
    const parts = new DOMParser().parseFromString(event.data, "text/html").body;
    [...parts.children].filter((part) => part.id).forEach(replace);
    ring();
  };

  const ring = () => {
    const wanted = document.querySelector("[data-alarm]") !== null;
    if (!wanted) {
      if (alarm) alarm.pause();
      return;
    }
    if (!alarm) {
      alarm = new Audio("/assets/alarm.wav");
      alarm.loop = true;
    }
    if (!alarm.paused) return;
    const blocked = document.getElementById("sound");
    alarm.play().then(
      () => { if (blocked) blocked.hidden = true; },
      () => { if (blocked) blocked.hidden = false; },
    );
  };

  document.addEventListener("click", ring);
  document.addEventListener("keydown", ring);

  let stream = null;
  const connect = () => {
    if (stream) stream.close();
    stream = new EventSource(notice.dataset.stream + location.search);
    stream.addEventListener("part", take);
    stream.addEventListener("beat", alive);
    // A stream that the server refuses is not tried again by the browser: look whether we may still read.
    stream.addEventListener("error", () => { if (stream.readyState === EventSource.CLOSED) setTimeout(connect, beatEvery); });
  };
  connect();
  ring();
  setInterval(() => { if (Date.now() - heard > 3 * beatEvery) stop(); }, 1000);
  document.addEventListener("visibilitychange", () => { if (!document.hidden && Date.now() - heard > 3 * beatEvery) { stop(); connect(); } });
})();
