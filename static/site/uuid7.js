// Identifiers that sort by the moment of their making: UUID version 7 (RFC 9562, 5.7).
// Within one millisecond, and when the clock steps back, the 12 bits of rand_a count on
// (RFC 9562, 6.2, method 1), so that ids of one page never run backwards.

let lastTime = 0;
let counter = 0;

/**
 * Make one identifier.
 * @param {number} [now] milliseconds since 1970
 * @returns {string} 36 characters, lower case
 */
export function uuid7(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  if (now > lastTime) {
    lastTime = now;
    counter = ((bytes[6] << 8) | bytes[7]) & 0x7ff; // the upper half stays free to count into
  } else if (++counter > 0xfff) {
    lastTime += 1;
    counter = 0;
  }
  for (let place = 5, rest = lastTime; place >= 0; place -= 1) {
    bytes[place] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes[6] = 0x70 | (counter >> 8);
  bytes[7] = counter & 0xff;
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)]
    .join("-");
}

/**
 * The moment in an identifier.
 * @param {string} id
 * @returns {number} milliseconds since 1970
 */
export function timeOf(id) {
  return parseInt(id.slice(0, 8) + id.slice(9, 13), 16);
}
