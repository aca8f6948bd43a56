// Shows push messages of the desk. A message that takes an alert back replaces the alert.
"use strict";
self.addEventListener("push", (event) => {
  const message = event.data ? event.data.json() : {};
  event.waitUntil(
    self.registration.showNotification(message.title || "Rattlewatch", {
      body: message.text || "",
      tag: message.link || "rattlewatch",
      renotify: true,
      requireInteraction: !message.withdrawn,
      data: message.link || "/",
    }),
  );
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(self.clients.openWindow(event.notification.data));
});
