// The emergency card. Needs no login, no network and no wasm: the app leaves every word of it in plain
// storage whenever something changes, and what is stamped here becomes lines at the next chance.

const RECORD = "rattlewatch-card";
const SHOWN = "rattlewatch-card-shown";
const STAMPS = "rattlewatch-card";
const SHOWN_FOR_MS = 6 * 3600000;

let awake = null;
let hooks = { back: null, stamped: null };

function read(name) {
  try { return JSON.parse(localStorage.getItem(name)); } catch { return null; }
}

function element(name, className, ...inside) {
  const made = document.createElement(name);
  if (className) made.className = className;
  made.append(...inside.filter((part) => part !== null && part !== undefined));
  return made;
}

function button(id, className, words, touched) {
  const made = element("button", className, words);
  made.type = "button";
  made.id = id;
  made.addEventListener("click", touched);
  return made;
}

// By the site's clock, as on every other screen; by the phone's where the browser does not know that zone.
const clock = (ms, zone) => {
  const shape = { hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
  try { return new Date(ms).toLocaleTimeString("en-GB", { ...shape, timeZone: zone }); } catch { /* below */ }
  return new Date(ms).toLocaleTimeString("en-GB", shape);
};

// Opens the small database that the app reads as well.
function database() {
  return new Promise((resolve, reject) => {
    const open = indexedDB.open(STAMPS, 1);
    open.onupgradeneeded = () => open.result.createObjectStore("stamps", { autoIncrement: true });
    open.onsuccess = () => resolve(open.result);
    open.onerror = () => reject(open.error);
  });
}

// Kept means: on the disk.
async function keep(stage, at) {
  const base = await database();
  try {
    await new Promise((resolve, reject) => {
      const work = base.transaction("stamps", "readwrite", { durability: "strict" });
      work.objectStore("stamps").add(JSON.stringify({ n: 0, stage, at }));
      work.oncomplete = resolve;
      work.onerror = work.onabort = () => reject(work.error);
    });
  } finally {
    base.close();
  }
}

function shown() {
  const kept = read(SHOWN) ?? {};
  return Object.fromEntries(Object.entries(kept).filter(([, at]) => Date.now() - at < SHOWN_FOR_MS));
}

async function stamp(record, root, stage) {
  const at = Date.now();
  let says = record.words.kept;
  try {
    await keep(stage, at);
    const all = shown();
    all[stage] ??= at;
    localStorage.setItem(SHOWN, JSON.stringify(all));
  } catch {
    says = record.words.not_kept + " " + clock(at, record.zone);
  }
  if (hooks.stamped) hooks.stamped();
  draw(record, root);
  const status = root.querySelector("#card-kept");
  if (status) status.textContent = says;
}

function sentence(record) {
  const said = element("p", "card-say");
  said.lang = "en";
  said.append("“");
  record.sentence.forEach((piece, place) => {
    if (place > 0) said.append(" ");
    if (piece === "blank") said.append(element("span", "card-blank", "\u00a0\u00a0\u00a0\u00a0"), ".");
    else if (piece.strong) said.append(element("b", "", piece.strong));
    else said.append(piece.plain);
  });
  said.append("”");
  const box = element("section", "card-box", said);
  box.id = "card-sentence";
  box.setAttribute("aria-label", record.words.say_this);
  if (record.meaning) box.append(element("p", "card-meaning", record.meaning));
  box.append(element("p", "card-last", record.last), element("p", "card-last", record.aid));
  return box;
}

// What stands where the number is: a link that dials, or, in a drill and where nothing can be dialled,
// a button that does not.
function calling(record, root, earnest) {
  const practise = button("card-practise", "card-call", record.words.practise, () => stamp(record, root, "called"));
  if (!record.number) {
    const nothing = element("p", "card-nothing", element("span", "", record.words.demo));
    nothing.id = "card-nothing";
    return [nothing, practise, element("p", "card-why", record.words.demo_why)];
  }
  const number = element("p", "card-number", record.number);
  number.id = "card-number";
  if (record.drill && !earnest) {
    const real = button("card-real", "card-real", record.words.this_is_real, () => {
      root.dataset.earnest = "yes";
      stamp(record, root, "real");
      draw(record, root);
    });
    return [number, practise, real];
  }
  const call = element("a", "card-call", record.words.call_now);
  call.id = "card-call";
  call.href = "tel:" + record.number.replace(/[^+0-9*#]/g, "");
  return [number, call];
}

function draw(record, root) {
  const earnest = root.dataset.earnest === "yes" || Boolean(shown().real);
  const drilling = record.drill && !earnest;
  const back = button("card-back", "card-back", record.words.back, leave);
  const site = element("b", "", record.site);
  site.id = "card-site";
  const parts = [element("div", "card-top", site, back)];
  if (drilling) {
    const band = element("p", "card-band", element("span", "", record.words.drill));
    band.id = "card-drill";
    parts.unshift(band);
  }
  parts.push(...calling(record, root, earnest), sentence(record));
  const orders = element("ol", "card-orders");
  record.orders.forEach((order, place) => {
    const item = element("li", "", order);
    if (place === 0) {
      const shout = element("b", "", record.shout[0]);
      shout.lang = record.shout[1];
      item.append(" ", shout);
    }
    orders.append(item);
  });
  parts.push(orders);
  const stamps = element("div", "card-stamps");
  const times = shown();
  for (const [stage, word] of record.stamps) {
    const at = times[stage];
    const made = button("stamp-" + stage, "card-stamp", at ? word + " " + clock(at, record.zone) : word, () => stamp(record, root, stage));
    made.setAttribute("aria-pressed", at ? "true" : "false");
    stamps.append(made);
  }
  const kept = element("p", "card-kept", record.words.stamps);
  kept.id = "card-kept";
  kept.setAttribute("role", "status");
  const more = element("ul", "card-more", ...record.more.map((words) => element("li", "", words)));
  root.replaceChildren(...parts, stamps, kept, more);
  root.lang = record.lang;
}

function leave() {
  if (hooks.back) hooks.back(); else location.href = "/phone/";
}

// A dark screen in a fire helps nobody; where the browser refuses, the card stands there all the same.
async function stayAwake() {
  try { awake = await navigator.wakeLock?.request("screen"); } catch { awake = null; }
}

// Shows the card in an element, and notes that it was opened.
export function show(root, with_) {
  hooks = with_;
  const record = read(RECORD);
  if (record) {
    draw(record, root);
    keep("opened", Date.now()).then(() => hooks.stamped?.()).catch(() => {});
  } else if (root.childElementCount === 0) {
    fetch("/phone/card.html").then((page) => page.text()).then((text) => {
      const page = new DOMParser().parseFromString(text, "text/html");
      root.replaceChildren(...page.getElementById("card").childNodes);
      root.querySelector(".card-back").addEventListener("click", (event) => {
        event.preventDefault();
        leave();
      });
    }).catch(() => { location.href = "/phone/card.html"; });
  }
  root.scrollTop = 0;
  stayAwake();
}

// Lets the screen go dark again.
export function hide() {
  awake?.release().catch(() => {});
  awake = null;
}

document.addEventListener("visibilitychange", () => {
  if (awake && document.visibilityState === "visible") stayAwake();
});

const page = document.querySelector("body.card-page #card");
if (page) {
  show(page, { back: null, stamped: null });
  if ("serviceWorker" in navigator) navigator.serviceWorker.register("/phone/sw.js", { updateViaCache: "none" }).catch(() => {});
}
