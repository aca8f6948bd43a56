// Begins the drawing tool, and lends it what only the browser can do: its own store, pictures, and a worker
// that thinks, so that the page never stands still.

import init, { begin, dropped, thought } from "./plan.js";

/** The longer side of a kept picture, in pixels: enough to read a door swing on a large sheet. */
const LONGEST_PX = 2600;

const opened = new Promise((yes, no) => {
  const request = indexedDB.open("rattlewatch-drawing", 1);
  request.onupgradeneeded = () => {
    request.result.createObjectStore("drawings");
    request.result.createObjectStore("pictures");
  };
  request.onsuccess = () => yes(request.result);
  request.onerror = () => no(request.error);
});
opened.catch(() => { /* said by the first keep that fails */ });

async function stored(store, mode, work) {
  const database = await opened;
  return new Promise((yes, no) => {
    const transaction = database.transaction(store, mode);
    const request = work(transaction.objectStore(store));
    transaction.oncomplete = () => yes(request.result);
    transaction.onerror = transaction.onabort = () => no(transaction.error);
  });
}

const ofSite = (site) => IDBKeyRange.bound(site + "/", site + "/\uffff");
const compiled = WebAssembly.compileStreaming(fetch(new URL("plan_bg.wasm", import.meta.url)));

/** A plan is thought about once nothing has changed for so long, in ms: not while something is dragged. */
const QUIET_MS = 90;
let worker = null;
let busy = false;
let waits = 0;

// A worker that is still thinking about an older plan is ended: the program is compiled already, so a new one is quick.
function think(asked) {
  if (busy || !worker) {
    if (worker) worker.terminate();
    worker = new Worker(new URL("plan-worker.js", import.meta.url), { type: "module" });
    worker.onmessage = ({ data }) => {
      busy = !data.last;
      thought(data.ticket, data.text);
    };
    const started = worker;
    compiled.then((module) => started.postMessage({ module })).then(() => started.postMessage(asked));
  } else {
    worker.postMessage(asked);
  }
  busy = true;
}

window.rattlewatchDrawing = {
  ask: (ticket, plan, measures) => {
    const asked = { ticket, plan: plan.slice(), measures };
    clearTimeout(waits);
    waits = setTimeout(() => think(asked), QUIET_MS);
  },
  keep: (site, text) => stored("drawings", "readwrite", (s) => s.put(text, site)).then(() => true, () => false),
  kept: (site) => stored("drawings", "readonly", (s) => s.get(site)).catch(() => undefined),
  forget: (site) => Promise.all([
    stored("drawings", "readwrite", (s) => s.delete(site)),
    stored("pictures", "readwrite", (s) => s.delete(ofSite(site))),
  ]).catch(() => undefined),
  address: async (key) => {
    const kept = await stored("pictures", "readonly", (s) => s.get(key)).catch(() => undefined);
    return kept && URL.createObjectURL(kept);
  },
  picture: async (site, file) => {
    try {
      const image = await createImageBitmap(file);
      const share = Math.min(1, LONGEST_PX / Math.max(image.width, image.height));
      const canvas = document.createElement("canvas");
      canvas.width = Math.max(1, Math.round(image.width * share));
      canvas.height = Math.max(1, Math.round(image.height * share));
      const pen = canvas.getContext("2d");
      pen.fillStyle = "#fff";
      pen.fillRect(0, 0, canvas.width, canvas.height);
      pen.drawImage(image, 0, 0, canvas.width, canvas.height);
      const bytes = await new Promise((yes) => canvas.toBlob(yes, "image/webp", 0.85));
      const key = site + "/" + crypto.randomUUID();
      await stored("pictures", "readwrite", (s) => s.put(bytes, key)).catch(() => undefined);
      return [key, canvas.width, canvas.height, URL.createObjectURL(bytes)];
    } catch {
      return undefined;
    }
  },
};

const page = document.documentElement;
page.addEventListener("dragover", (event) => event.preventDefault());
page.addEventListener("drop", (event) => {
  event.preventDefault();
  const [file] = event.dataTransfer.files;
  if (file) dropped(file);
});

compiled.then((module) => init({ module_or_path: module })).then(() => {
  begin();
  page.dataset.drawing = "ready";
}).catch((error) => {
  console.error(error);
  document.getElementById("draw").hidden = true;
  document.getElementById("draw-failed").hidden = false;
});
