// Whether the device is ready to go where there is no signal, asked before the walk up.

import { digestOf, expired } from "./pack.js";
import { shellKept } from "./shell.js";
import { t } from "./words.js";

const WIDEST = 10 * 60 * 1000; // a clock further off makes the times on records doubtful

/**
 * @param {Db} db @param {object} pack
 * @returns {Promise<{key: string, ok: boolean, sentence: string}[]>}
 */
export async function checkReady(db, pack) {
  return Promise.all([persistent(), writes(db), shell(), whole(pack), clock(pack)]);
}

const row = (key, ok, yes, no) => ({ key, ok, sentence: ok ? yes : no });

async function persistent() {
  const granted = (await navigator.storage?.persist?.().catch(() => false)) ?? false;
  return row(
    "persistent",
    granted,
    t("The browser keeps what is saved here, even when room runs short."),
    t("The browser may clear what is saved here when room runs short. Put the page on the home screen, and send whenever there is a signal."),
  );
}

async function writes(db) {
  const probe = { key: "probe", value: crypto.randomUUID() };
  const ok = await db
    .put("meta", probe)
    .then(() => db.get("meta", "probe"))
    .then((found) => found?.value === probe.value)
    .catch(() => false);
  return row(
    "write",
    ok,
    t("A test entry was saved and read back."),
    t("A test entry could not be saved. Score on paper, or on another device."),
  );
}

async function shell() {
  return row(
    "shell",
    await shellKept(),
    t("The pages open without a signal."),
    t("The pages are not kept yet. Stay where there is a signal and look again in a minute."),
  );
}

async function whole(pack) {
  const complete =
    pack.trainees?.length > 0 && (await digestOf(pack.standard.document)) === pack.standard.digest;
  const ok = complete && !expired(pack);
  return row(
    "pack",
    ok,
    t("The run, its standard and its trainees are on this device."),
    complete
      ? t("The leave to send has run out. Renew the pack.")
      : t("The run is not whole on this device. Take it up again."),
  );
}

async function clock({ skew, taken_at }) {
  const ok = Math.abs(skew ?? 0) <= WIDEST && Date.now() >= Date.parse(taken_at) - WIDEST;
  return row(
    "clock",
    ok,
    t("The device's clock agrees with the server's."),
    t("The device's clock is wrong. Set its date, time and time zone."),
  );
}
