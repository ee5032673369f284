// Times as a clock on the site shows them, and instants as ISO 8601 with the offset there.

/**
 * The date and time at the site, as an input of type datetime-local takes it.
 * @param {Date} instant
 * @param {string} zone Such as America/New_York.
 * @returns {string} YYYY-MM-DDTHH:MM:SS
 */
export function onSite(instant, zone) {
  // Swedish writes a date as ISO 8601 does: 2025-03-04 14:05:09.
  return instant.toLocaleString("sv-SE", { timeZone: zone }).replace(" ", "T");
}

/**
 * A date and time at the site as an instant with its offset, to the second. Where clocks are
 * put back and a time comes twice, the first is meant; where it never comes, the one after.
 * @param {string} local YYYY-MM-DDTHH:MM, seconds optional.
 * @param {string} zone
 * @returns {string|null} Such as 2026-11-23T08:00:00-05:00; null where `local` is none.
 */
export function instantOf(local, zone) {
  const asUtc = Date.parse(`${local.length === 16 ? `${local}:00` : local}Z`);
  if (Number.isNaN(asUtc)) return null;
  const day = 86_400_000;
  const offsets = [offsetAt(asUtc - day, zone), offsetAt(asUtc + day, zone)];
  const fits = offsets.find((offset) => offsetAt(asUtc - offset, zone) === offset);
  const offset = fits ?? offsets[0];
  return withOffset(asUtc - offset, offsetAt(asUtc - offset, zone));
}

/**
 * Now, with the offset that holds at the site.
 * @param {Date} instant
 * @param {string} zone
 * @returns {string}
 */
export function isoOnSite(instant, zone) {
  const whole = Math.floor(instant.getTime() / 1000) * 1000;
  return withOffset(whole, offsetAt(whole, zone));
}

/**
 * A whole number of minutes in hours and minutes, such as 24 h or 1 h 30 min; others as they are.
 * @param {string} text
 * @param {string} unit
 * @returns {string}
 */
export function duration(text, unit) {
  if (unit !== "min" || !/^\d{2,9}$/.test(text) || Number(text) < 60) return `${text} ${unit}`;
  const [hours, minutes] = [Math.floor(Number(text) / 60), Number(text) % 60];
  return minutes ? `${hours} h ${minutes} min` : `${hours} h`;
}

function offsetAt(time, zone) {
  const whole = Math.floor(time / 1000) * 1000;
  return Date.parse(`${onSite(new Date(whole), zone)}Z`) - whole;
}

function withOffset(time, offset) {
  const local = new Date(time + offset).toISOString().slice(0, 19);
  const minutes = Math.round(Math.abs(offset) / 60_000);
  const two = (number) => String(number).padStart(2, "0");
  const sign = offset < 0 ? "-" : "+";
  return `${local}${sign}${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}
