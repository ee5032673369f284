// Passkeys (W3C Web Authentication Level 2): asks the device, and sends its answer as a form.
// Without scripts, or in a browser that has no passkeys, these forms stay hidden.

for (const form of document.querySelectorAll("form[data-passkey]")) {
  if (!window.PublicKeyCredential) continue;
  form.hidden = false;
  for (const note of document.querySelectorAll("[data-passkey-without]")) note.hidden = true;
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    ask(form);
  });
}

async function ask(form) {
  const button = form.querySelector("button");
  say(form, null);
  if (!form.elements.namedItem("name") || form.elements.namedItem("name").value.trim()) {
    button.disabled = true;
    try {
      form.elements.namedItem("answer").value = JSON.stringify(await answered(form));
    } catch (error) {
      say(form, error.name);
      button.disabled = false;
      delete form.dataset.sent;
      return;
    }
    button.disabled = false;
  }
  // A form without a name goes as it is: the server says what to mend.
  form.submit();
}

async function answered(form) {
  const options = await wanted(form);
  options.challenge = bytes(options.challenge);
  for (const list of ["excludeCredentials", "allowCredentials"]) {
    for (const each of options[list] ?? []) each.id = bytes(each.id);
  }
  if (form.dataset.passkey === "create") {
    options.user.id = bytes(options.user.id);
    return told(await navigator.credentials.create({ publicKey: options }));
  }
  return told(await navigator.credentials.get({ publicKey: options }));
}

async function wanted(form) {
  let response;
  try {
    response = await fetch(form.dataset.options, {
      method: "POST",
      credentials: "same-origin",
      headers: { "X-CSRFToken": form.elements.namedItem("csrfmiddlewaretoken").value },
    });
  } catch {
    throw named("offline");
  }
  // Whoever is not signed in any more is led to the sign-in page, which is no answer.
  if (!response.ok || response.redirected) throw named("other");
  return response.json();
}

function told(credential) {
  const response = {};
  for (const part of ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"]) {
    if (credential.response[part]) response[part] = text(credential.response[part]);
  }
  return { id: credential.id, rawId: text(credential.rawId), type: credential.type, response };
}

function say(form, name) {
  const notes = [...form.querySelectorAll("[data-said]")];
  const shown = name && (notes.find((note) => note.dataset.said === name) ?? notes.at(-1));
  for (const note of notes) note.hidden = note !== shown;
}

function named(name) {
  const error = new Error(name);
  error.name = name;
  return error;
}

// base64url without padding (RFC 4648, section 5), to bytes and back.
function bytes(written) {
  const plain = written.replaceAll("-", "+").replaceAll("_", "/");
  return Uint8Array.from(atob(plain), (letter) => letter.codePointAt(0));
}

function text(buffer) {
  const letters = Array.from(new Uint8Array(buffer), (byte) => String.fromCodePoint(byte)).join("");
  return btoa(letters).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}
