// Lets this browser be told of alerts: asks the person, subscribes, and hands the subscription in.
"use strict";
(() => {
  const part = document.getElementById("push");
  if (!part || !("serviceWorker" in navigator) || !("PushManager" in window)) return;
  part.hidden = false;
  const says = part.querySelector("[role=status]");

  const bytes = (text) => {
    const base64 = text.replace(/-/g, "+").replace(/_/g, "/");
    return Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
  };

  const subscribe = async () => {
    if ((await Notification.requestPermission()) !== "granted") throw new Error(part.dataset.refused);
    const { key } = await (await fetch("/push/key")).json();
    const worker = await navigator.serviceWorker.register(part.dataset.worker);
    const subscription = await worker.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: bytes(key) });
    const answer = await fetch("/push", {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(subscription),
    });
    if (!answer.ok) throw new Error(part.dataset.failed);
    location.reload();
  };

  part.querySelector("button").addEventListener("click", () => {
    subscribe().catch((error) => { says.textContent = error.message || part.dataset.failed; });
  });
})();
