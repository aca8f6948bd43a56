// Thinks about a plan, longer with each pass. The page ends this worker when the plan has changed.

import init, { passes, think } from "./plan.js";

let ready;

onmessage = async ({ data }) => {
  if (data.module) {
    ready = init({ module_or_path: data.module });
    return;
  }
  await ready;
  for (let pass = 0; pass < passes(); pass++) {
    const text = think(data.plan, data.measures, pass);
    postMessage({ ticket: data.ticket, text, last: pass + 1 === passes() });
  }
};
