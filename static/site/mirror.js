// A cookie beside the database, which says how far the database had come. Browsers may throw
// a database away; the cookie is kept elsewhere and then proves that something was lost.
// (Where a person clears all data of the site, both go; the server's list of gaps stays.)

const NAME = "site_mirror";
const LONGEST = 400 * 24 * 60 * 60; // seconds; browsers keep no cookie longer

/**
 * @typedef {{device: string, epoch: string, last: number, unsent: number}} Mirror
 * @typedef {{epoch: string, last: number, found: number, unsent: number, found_at: string,
 *   device: string}} Loss
 */

/**
 * Read a mirror out of a cookie header.
 * @param {string} cookies as document.cookie gives them
 * @returns {Mirror | null} null where there is none, or none that can be read
 */
export function parseMirror(cookies) {
  const pair = cookies.split("; ").find((text) => text.startsWith(`${NAME}=`));
  if (!pair) return null;
  const [device, epoch, last, unsent] = pair.slice(NAME.length + 1).split("_");
  const numbers = [Number(last), Number(unsent)];
  if (!device || !epoch || !numbers.every((n) => Number.isSafeInteger(n) && n >= 0)) return null;
  return { device, epoch, last: numbers[0], unsent: numbers[1] };
}

/** @returns {Mirror | null} */
export function read() {
  return parseMirror(document.cookie);
}

/**
 * Keep how far the database has come. Another tab may have come further meanwhile.
 * @param {Mirror} mirror
 */
export function write({ device, epoch, last, unsent }) {
  const before = read();
  const furthest = before && before.epoch === epoch ? Math.max(before.last, last) : last;
  const secure = location.protocol === "https:" ? "; Secure" : "";
  document.cookie =
    `${NAME}=${device}_${epoch}_${furthest}_${unsent}` +
    `; Path=/site/; SameSite=Strict; Max-Age=${LONGEST}${secure}`;
}

/**
 * What the database lacks of what the mirror has seen.
 * @param {Mirror | null} mirror
 * @param {{epoch: string, last: number} | null} found what the database says of itself
 * @param {string} when ISO 8601
 * @returns {Loss | null}
 */
export function lossBetween(mirror, found, when) {
  if (!mirror || mirror.last === 0) return null;
  const last = found && found.epoch === mirror.epoch ? found.last : 0;
  if (last >= mirror.last) return null;
  return { ...mirror, found: last, found_at: when };
}

/**
 * The loss that opening the database came upon and that nobody has been shown yet.
 * @param {{losses: () => Promise<(Loss & {shown: boolean})[]>}} db
 * @returns {Promise<Loss | null>}
 */
export async function checkLoss(db) {
  const losses = await db.losses();
  return losses.find((loss) => !loss.shown) ?? null;
}
