// The part of a screen where photographs of one criterion or hold point are taken and shown.

import { h, key, replace, say } from "./dom.js";
import { sendNow } from "./outbox.js";
import { intent, noPhoto, openIntents, PhotoError, photosOf, takePhoto, Thumbnails } from "./photos.js";
import { t } from "./words.js";

const CLAIMED = {
  camera: "Taken at {time}, by the camera's clock.",
  camera_without_zone: "Taken at {time}, by the camera's clock, its time zone not known.",
  file: "Taken at {time}, by the date of the file.",
};

/**
 * A slot that opens the camera, keeps what it brings and shows it.
 * @param {Db} db
 * @param {{pack: Object, attempt: string, subject: {kind: string, key: string}, stage?: string,
 *   title: string, onChange?: function(): *}} place title: what is photographed; onChange: told
 *   when a photograph was kept
 * @returns {{element: HTMLElement, refresh: function(): Promise, release: function()}} refresh
 *   after something was sent; release when the screen is left
 */
export function photoSlot(db, { pack, attempt, subject, stage, title, onChange = () => {} }) {
  const place = { pack, attempt, subject, stage };
  const thumbnails = new Thumbnails();
  const pictures = h("ul", { class: "photos" });
  const message = h("div", { class: "photo-message", role: "status" });
  const camera = h("input", {
    type: "file",
    accept: "image/*",
    capture: "environment",
    hidden: true,
    "aria-label": t("Photo of {title}", { title }),
    onChange: () => keep(camera.files[0]).catch(complain),
    onCancel: () => refresh().catch(complain),
  });
  const take = key(t("Take a photo"), { press: openCamera, kind: "wide", name: t("Take a photo of {title}", { title }) });
  const element = h("section", { class: "photo-slot" }, pictures, message, camera, take);

  // Not awaited before the camera opens: browsers open it only within the press itself. The
  // request is under way by then, and its failure is shown.
  function openCamera() {
    const noted = intent(db, place);
    camera.value = ""; // the same file again is a change too
    camera.click();
    noted.catch(complain);
  }

  async function keep(file) {
    if (!file) return refresh();
    take.disabled = true;
    replace(message, say(t("The photo is being kept.")));
    try {
      await takePhoto(db, { ...place, file });
    } finally {
      take.disabled = false;
    }
    await refresh();
    return onChange();
  }

  function complain(error) {
    const known = error instanceof PhotoError || error.name === "StoreError";
    if (!known) throw error;
    const said = say(error.message, error instanceof PhotoError && none());
    replace(message, h("div", { role: "alert" }, said));
  }

  async function refresh() {
    const rows = await photosOf(db, attempt, subject);
    const open = await openIntents(db);
    thumbnails.release();
    replace(pictures, rows.map((row) => [
      picture(row, thumbnails.show(row), title),
      row.sent === 0 && row.refused && h("li", {}, sendAgain(row)),
    ]));
    const missing = open.find((row) => row.attempt === attempt && same(row.subject, subject));
    replace(message, missing && question(missing));
  }

  function question({ sentence }) {
    return say(sentence, key(t("Take it again"), { press: openCamera }), none());
  }

  function none() {
    const press = () => noPhoto(db, place).then(refresh).catch(complain);
    return key(t("No photo"), { press });
  }

  /** As the person asks for it: by itself it is tried once an hour. */
  function sendAgain({ claimed_at }) {
    const press = async (event) => {
      event.currentTarget.disabled = true;
      await sendNow();
      await refresh();
    };
    return key(t("Send again"), {
      press: (event) => press(event).catch(complain),
      name: t("Send the photo of {title}, {time}, again", { title, time: claimed_at.slice(11, 16) }),
    });
  }

  return { element, refresh, release: () => thumbnails.release() };
}

/**
 * What may be missing, for the first screen: with the camera open, phones often end the page.
 * @param {Db} db
 * @param {Object[]} packs those whose trainees may be shown
 * @param {function(Error): *} complain
 * @returns {HTMLElement} empty where nothing is missing; fills itself
 */
export function missingPhotos(db, packs, complain) {
  const box = h("div", { "aria-live": "polite" });
  const shown = new Set(packs.flatMap((pack) => pack.trainees.map(({ attempt }) => attempt)));
  const fill = async () => {
    const open = await openIntents(db);
    replace(box, open.filter(({ attempt }) => shown.has(attempt)).map(ask));
  };
  const ask = ({ attempt, subject, sentence }) => {
    const none = () => noPhoto(db, { attempt, subject }).then(fill).catch(complain);
    return say(
      sentence,
      h("div", { class: "keys two" },
        key(t("Take it again"), { href: `#/attempt/${attempt}/${subject.kind}/${subject.key}` }),
        key(t("No photo"), { press: none })),
    );
  };
  fill().catch(complain);
  return box;
}

function same(one, other) {
  return one.kind === other.kind && one.key === other.key;
}

function picture(row, url, title) {
  const clock = row.claimed_at.slice(11, 16);
  return h(
    "li",
    {},
    h("img", { src: url, alt: t("Photo of {title}, {time}", { title, time: clock }), class: "thumbnail" }),
    h("p", {}, `${t(CLAIMED[row.claimed_from], { time: clock })} ${stateOf(row)}`),
  );
}

function stateOf({ sent, refused }) {
  if (sent === 1) return t("Sent.");
  return refused ? t("✕ Kept here, not taken by the server: {sentence}", { sentence: refused.sentence }) : t("Not sent yet.");
}
