// Loads the phone, shows the card over it, and keeps the page's worker up to date. The fire bar works
// before this file has run (it is a link) and after the program has failed (it is handled here).

const fire = document.getElementById("fire");
const over = document.getElementById("over");
let program = null;
let card = null;

const noticed = (what) => { if (program) program.noticed(what); };

// The card first: it must open even if nothing else does.
import("./card.js").then((loaded) => {
  card = loaded;
  fire.addEventListener("click", (event) => {
    event.preventDefault();
    if (over.hidden) history.pushState({ card: true }, "", "#card");
    show();
  });
  if (location.hash === "#card") show();
}).catch(() => { /* the link in the fire bar still leads to the static page */ });

function show() {
  over.hidden = false;
  document.body.classList.add("covered");
  card.show(over, { back: () => history.back(), stamped: () => noticed("stamped") });
}

function hide() {
  if (over.hidden) return;
  over.hidden = true;
  document.body.classList.remove("covered");
  card.hide();
  noticed("woke");
  fire.focus();
}

addEventListener("popstate", () => {
  if (location.hash === "#card" && card) show(); else hide();
});

// A link with a token in it that comes while the page is open.
addEventListener("hashchange", enrol);
function enrol() {
  const found = /enrol=([^&]+)/.exec(location.hash);
  if (!found || !program) return;
  program.enrol(decodeURIComponent(found[1]));
  history.replaceState(null, "", location.pathname);
}

import("./phone.js").then(async (loaded) => {
  await loaded.default({ module_or_path: new URL("phone_bg.wasm", import.meta.url) });
  program = loaded;
  document.documentElement.dataset.program = "ready";
  enrol();
}).catch((error) => {
  console.error(error);
  document.getElementById("app").hidden = true;
  document.getElementById("failed").hidden = false;
});

// The other program: codes and sheets. Fetched when something first asks for it; asked again after a failure.
let camera = null;
window.rattlewatchCamera = () => {
  camera ??= import("./camera.js").then(async (loaded) => {
    await loaded.default({ module_or_path: new URL("camera_bg.wasm", import.meta.url) });
    return loaded;
  }).catch((error) => { camera = null; throw error; });
  return camera;
};

// A short two-tone chime, made here so that no file and no permission is needed. Setting up sound takes a slow phone
// longer than anything else on this page: once, when nothing else is to be done, never between a touch and its line.
let audio = null;
const whenIdle = window.requestIdleCallback ?? ((call) => setTimeout(call, 300));
window.rattlewatchChime = () => whenIdle(chime, { timeout: 2000 });

async function chime() {
  audio ??= new AudioContext();
  await audio.resume();
  [660, 880].forEach((pitch, place) => {
    const tone = audio.createOscillator();
    const loudness = audio.createGain();
    const begins = audio.currentTime + place * 0.25;
    tone.frequency.value = pitch;
    loudness.gain.setValueAtTime(0.2, begins);
    loudness.gain.exponentialRampToValueAtTime(0.001, begins + 0.4);
    tone.connect(loudness).connect(audio.destination);
    tone.start(begins);
    tone.stop(begins + 0.45);
  });
  // Asleep again until the next one: a speaker that is held open drains the battery.
  setTimeout(() => audio.suspend(), 1500);
}

// The worker: everything works without a network from the first visit on.
if ("serviceWorker" in navigator) {
  const worker = navigator.serviceWorker;
  const ready = () => { if (worker.controller) document.documentElement.dataset.offline = "ready"; };
  worker.register("sw.js", { updateViaCache: "none" }).then(() => worker.ready).then(() => {
    ready();
    const ask = () => worker.controller && worker.controller.postMessage("check");
    setTimeout(ask, 5000);
    setInterval(ask, 15 * 60000);
  }).catch((error) => console.error(error));
  worker.addEventListener("controllerchange", ready);
  let reloads = false;
  worker.addEventListener("message", (event) => {
    if (event.data === "waits") noticed("update");
    if (event.data === "taken" && reloads) location.reload();
  });
  // Called by the program when the guard takes the new version.
  window.rattlewatchTakeUpdate = () => {
    reloads = true;
    if (worker.controller) worker.controller.postMessage("take");
  };
}
