// Bytes, and what they are written as.

export const latin1 = (bytes) => new TextDecoder("latin1").decode(bytes);

export const same = (one, other) =>
  one.length === other.length && one.every((byte, place) => byte === other[place]);

export function joined(...parts) {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let place = 0;
  for (const part of parts) {
    whole.set(part, place);
    place += part.length;
  }
  return whole;
}

export const toHex = (bytes) =>
  Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");

export function fromHex(text) {
  if (text.length % 2 || /[^0-9a-fA-F]/.test(text)) throw new Error("these are no hex digits");
  return Uint8Array.from({ length: text.length / 2 }, (_, place) =>
    Number.parseInt(text.slice(2 * place, 2 * place + 2), 16),
  );
}

export function fromBase64(text) {
  return Uint8Array.from(atob(text.replace(/\s/g, "")), (letter) => letter.charCodeAt(0));
}

export const sha256 = async (bytes) =>
  new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
