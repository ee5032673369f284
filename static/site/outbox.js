// Sends what is on the device, in order, from one tab at a time. It deletes nothing: what was
// sent stays until its pack is put away.

import { Passed } from "./passed.js";
import { sendPhotos } from "./photos.js";
import { batchOf, delayAfter, MOST_EVENTS, sendBatch, tellLoss } from "./sending.js";
import { t, tn } from "./words.js";

const LOCK = "bankermark-outbox";
const OTHER_TAB = 5_000;
const PASSED =
  "The server cannot take some of it just now. Everything else goes, and this is tried again " +
  "by itself.";
const SIGN_IN = "Sign in once on this device to send.";

/**
 * @typedef {{state: "idle"|"sending"|"waiting"|"refused", unsent: number, unsentPhotos: number,
 *   aside: number, passed: number, sentence: string, retryAt: number | null}} State
 *   passed: over how many events the server breaks; retryAt in milliseconds since 1970
 */

/**
 * The pack whose token sends for ``pack``: its own, or a newer one of the same run and assessor.
 * @param {object} pack @param {object[]} packs @param {number} now milliseconds since 1970
 */
export function bearer(pack, packs, now) {
  const live = (one) => Date.parse(one.expires_at) > now;
  if (live(pack)) return pack;
  const same = (one) => one.run.id === pack.run.id && one.assessor.id === pack.assessor.id;
  return packs.find((one) => same(one) && live(one)) ?? pack;
}

/** What one turn came to: nothing wrong, or why the rest stays. */
const DONE = { refused: null, wait: null };

class Outbox {
  constructor(db, onChange) {
    this.db = db;
    this.onChange = onChange;
    this.most = MOST_EVENTS;
    this.passed = new Passed(db);
    this.photosAgain = false;
    this.failures = 0;
    this.notBefore = 0;
    this.waits = false; // for a signal or for the server: more of the same is no use before
    this.timer = null;
    this.untold = false; // a loss that the server does not know of
    this.turn = null;
    this.again = null; // what to do after this turn: "now", or "soon" as in nudge()
    this.state = {
      state: "idle", unsent: 0, unsentPhotos: 0, aside: 0, passed: 0, sentence: "", retryAt: null,
    };
  }

  /** Send now, or as soon as the server allows; one turn at a time. */
  async sendNow() {
    if (this.turn) {
      this.again = "now";
      return this.turn;
    }
    if (Date.now() < this.notBefore) return this.rest({ refused: null, wait: "asked" });
    this.turn = this.take().finally(() => {
      this.turn = null;
    });
    await this.turn;
    const { again } = this;
    this.again = null;
    // A signal may have come back while this turn was failing: that is not to wait for a timer.
    if (again === "now") await this.sendNow();
    else if (again) await this.nudge();
  }

  /** Something was saved: send it, unless a wait for the signal runs already. */
  async nudge() {
    if (this.turn) {
      this.again ??= "soon";
      return this.turn;
    }
    if (this.waits && Date.now() < this.state.retryAt) return this.recount();
    return this.sendNow();
  }

  /** A person asks: also try what was passed over, and the photographs that were refused. */
  async askedNow() {
    await this.passed.load();
    await this.passed.retry();
    this.photosAgain = true;
    return this.sendNow();
  }

  async take() {
    clearTimeout(this.timer);
    try {
      const outcome = await navigator.locks.request(LOCK, { ifAvailable: true }, (lock) =>
        lock ? this.sendAll() : { refused: null, wait: "tab" });
      await this.rest(outcome);
    } catch (error) {
      this.failures += 1;
      const retryAt = this.db.open ? Date.now() + delayAfter(this.failures) : null;
      this.waits = retryAt !== null;
      this.tell({ state: "waiting", sentence: error.message, retryAt });
      this.wakeAt(retryAt);
      if (error.name !== "StoreError") throw error;
    }
  }

  /** @returns {Promise<typeof DONE>} */
  async sendAll() {
    const packs = await this.db.all("packs");
    await this.passed.load(); // another tab may have sent meanwhile
    let refused = null;
    let wait = null;
    for (const pack of packs) {
      const outcome = await this.sendPack(pack, bearer(pack, packs, Date.now()));
      if (outcome.wait === "asked") return outcome;
      // What fails for one pack need not hold up another assessor's.
      refused ??= outcome.refused;
      wait ??= outcome.wait;
    }
    this.photosAgain = false;
    this.untold = wait === null && !(await this.tellLosses(packs));
    return { refused, wait };
  }

  async sendPack(pack, by) {
    this.passed.begin();
    for (;;) {
      const batch = await this.nextBatch(pack);
      if (batch.length === 0) break;
      this.tell({ ...(await this.counted()), state: "sending", sentence: t("Sending."), retryAt: null });
      const answer = await sendBatch(by, batch);
      if (answer.kind === "taken") await this.keep(answer);
      else if (answer.kind === "large" && batch.length > 1) this.halve(batch);
      else if (answer.kind === "broken" || answer.kind === "large") {
        const next = await this.passed.broke(batch, Date.now());
        if (next === "wait") return { refused: null, wait: "failed" };
        if (next === "halve") this.halve(batch);
      } else if (answer.kind === "refused") {
        return { refused: answer.sentence ?? t(SIGN_IN), wait: null };
      } else {
        if (answer.kind === "later") this.notBefore = Date.now() + answer.wait;
        return { refused: null, wait: answer.kind === "later" ? "asked" : "failed" };
      }
    }
    return this.sendPhotos({ id: pack.id, token: by.token });
  }

  async nextBatch(pack) {
    const some = this.passed.suspects.size > 0; // then those after them are needed too
    const events = await this.db.unsent(some ? undefined : this.most, pack.id);
    return batchOf(this.passed.next(events, Date.now()), this.most);
  }

  async keep({ taken }) {
    await this.db.acknowledge(taken, new Date().toISOString());
    await this.passed.taken(taken);
    this.failures = 0;
    this.most = Math.min(MOST_EVENTS, this.most * 2);
  }

  halve(batch) {
    this.most = Math.max(1, Math.floor(batch.length / 2));
  }

  async sendPhotos(pack) {
    const { stopped } = await sendPhotos(this.db, pack, { again: this.photosAgain });
    if (stopped === null) return DONE;
    if (stopped.status === 401) return { refused: stopped.sentence, wait: null };
    if (stopped.retryAfter === null) return { refused: null, wait: "failed" };
    this.notBefore = Date.now() + stopped.retryAfter * 1000;
    return { refused: null, wait: "asked" };
  }

  /** @returns {Promise<boolean>} whether the server knows of all losses */
  async tellLosses(packs) {
    const losses = (await this.db.losses()).filter((loss) => !loss.told);
    let left = losses.length;
    for (const loss of losses) {
      for (const pack of packs) {
        if (await tellLoss(pack, loss)) {
          await this.db.noteLoss(loss, { told: true });
          left -= 1;
          break;
        }
      }
    }
    return left === 0;
  }

  /** Say how it stands after a turn, and choose when to try again. */
  async rest({ refused, wait }) {
    if (wait === "failed" || this.untold) this.failures += 1;
    else if (wait === null) this.failures = 0;
    const counts = await this.counted();
    const left = counts.unsent + counts.unsentPhotos;
    const later = {
      failed: () => Date.now() + delayAfter(this.failures),
      tab: () => Date.now() + OTHER_TAB,
      asked: () => this.notBefore,
    };
    let state = "idle";
    let retryAt = null;
    this.waits = wait !== null && left > 0;
    if (this.waits) [state, retryAt] = ["waiting", later[wait]()];
    else if (counts.unsent > 0 && refused === null && this.passed.due !== null)
      [state, retryAt] = [
        counts.passed > 0 ? "refused" : "waiting",
        Math.max(this.passed.due, Date.now() + delayAfter(1)),
      ];
    else if (left > 0) [state, retryAt] = ["refused", Date.now() + delayAfter(8)];
    this.tell({ ...counts, state, retryAt, sentence: sentenceOf(state, counts, refused) });
    // Not every browser says that the signal is back: what is untold is tried again as well.
    this.wakeAt(retryAt ?? (this.untold ? Date.now() + delayAfter(this.failures) : null));
  }

  wakeAt(retryAt) {
    clearTimeout(this.timer);
    if (retryAt !== null) this.timer = setTimeout(() => this.sendNow(), retryAt - Date.now());
  }

  async recount() {
    this.tell(await this.counted());
  }

  async counted() {
    const { unsent, unsentPhotos, aside } = await this.db.counts();
    return { unsent, unsentPhotos, aside, passed: this.passed.known };
  }

  tell(change) {
    this.state = { ...this.state, ...change };
    this.onChange(this.state);
  }
}

/** @param {string} state @param {object} counts @param {string | null} refused */
export function sentenceOf(state, { unsent, unsentPhotos, aside, passed = 0 }, refused) {
  const left = unsent + unsentPhotos;
  const saved = tn(left, "{count} is saved on this device.", "{count} are saved on this device.");
  if (state === "waiting") return `${saved} ${t("Sent when there is a signal.")}`;
  if (state === "refused") {
    const why =
      refused ??
      (unsent === 0 ? t("The server does not take all photographs.") : null) ??
      t(passed > 0 ? PASSED : "Save the file of this device and hand it in at the desk.");
    return `${why} ${saved}`;
  }
  if (aside === 0) return t("Everything is sent.");
  return tn(aside,
    "Everything is sent. {count} is kept aside: somebody at the desk will look at it.",
    "Everything is sent. {count} are kept aside: somebody at the desk will look at it.");
}

/** @type {Outbox | null} */
let started = null;

/**
 * Begin to send, now and whenever there may be a signal again.
 * @param {Db} db
 * @param {{onChange?: (state: State) => void}} [hooks]
 * @returns {Outbox}
 */
export function startOutbox(db, { onChange = () => {} } = {}) {
  const outbox = new Outbox(db, onChange);
  started = outbox;
  const visible = () => {
    if (document.visibilityState === "visible") outbox.sendNow();
  };
  addEventListener("pageshow", () => outbox.sendNow());
  addEventListener("online", () => outbox.sendNow());
  document.addEventListener("visibilitychange", visible);
  outbox.sendNow();
  return outbox;
}

/** Send what waits, as the person asks for it. */
export async function sendNow() {
  await started?.askedNow();
}

/** Something was saved. */
export async function nudge() {
  await started?.nudge();
}
