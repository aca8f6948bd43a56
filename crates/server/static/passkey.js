// Signs in with a passkey, and adds one to the account: asks the browser, and hands the answer in.
"use strict";
(() => {
  const part = document.getElementById("passkey");
  if (!part || !window.PublicKeyCredential) return;
  part.hidden = false;
  const says = part.querySelector("[role=status]");

  const bytes = (text) => {
    const base64 = text.replace(/-/g, "+").replace(/_/g, "/");
    return Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
  };
  const text = (buffer) =>
    btoa(String.fromCharCode(...new Uint8Array(buffer))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=/g, "");

  const send = async (path, body) => {
    const answer = await fetch(path, {
      method: "POST",
      headers: { "content-type": "application/json" },
      body: JSON.stringify(body),
    });
    if (answer.ok) return answer.status === 204 ? null : answer.json();
    const told = await answer.json().catch(() => ({}));
    throw new Error(answer.status === 422 && told.says ? told.says : part.dataset.failed);
  };

  const ofCredential = (credential, response) => ({
    id: credential.id,
    rawId: text(credential.rawId),
    type: credential.type,
    clientExtensionResults: {},
    response: { clientDataJSON: text(credential.response.clientDataJSON), ...response },
  });

  const add = async () => {
    const field = (name) => part.querySelector("[name=" + name + "]");
    const { publicKey } = await send("/passkey/new", { password: field("passkey_password").value });
    publicKey.challenge = bytes(publicKey.challenge);
    publicKey.user.id = bytes(publicKey.user.id);
    for (const known of publicKey.excludeCredentials || []) known.id = bytes(known.id);
    const made = await navigator.credentials.create({ publicKey });
    const credential = ofCredential(made, { attestationObject: text(made.response.attestationObject) });
    await send("/passkey/add", { name: field("passkey_name").value, credential });
    location.reload();
  };

  const signIn = async () => {
    const { id, publicKey } = await send("/passkey/begin", {});
    publicKey.challenge = bytes(publicKey.challenge);
    const found = await navigator.credentials.get({ publicKey });
    const { authenticatorData, signature, userHandle } = found.response;
    const credential = ofCredential(found, {
      authenticatorData: text(authenticatorData),
      signature: text(signature),
      userHandle: userHandle ? text(userHandle) : null,
    });
    await send("/passkey/sign-in", { id, credential });
    location.assign("/");
  };

  const press = (event) => {
    event.preventDefault();
    says.textContent = "";
    const work = part.dataset.does === "add" ? add : signIn;
    work().catch((error) => {
      // A browser's own refusal has a name and a sentence for programmers.
      says.textContent = error instanceof DOMException ? part.dataset.refused : error.message;
    });
  };
  if (part.tagName === "FORM") part.addEventListener("submit", press);
  else part.querySelector("button").addEventListener("click", press);
})();
