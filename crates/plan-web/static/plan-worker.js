// Thinks about the newest plan, longer with each pass; a newer plan ends it between two passes.

import init, { passes, think } from "./plan.js";

const ready = init({ module_or_path: new URL("plan_bg.wasm", import.meta.url) });
let newest = -1;

onmessage = async ({ data }) => {
  newest = data.ticket;
  await ready;
  for (let pass = 0; pass < passes(); pass++) {
    await new Promise((go) => setTimeout(go));
    if (newest !== data.ticket) return;
    postMessage({ ticket: data.ticket, text: think(data.plan, data.measures, pass) });
  }
};
