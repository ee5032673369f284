// The words of these pages: English in the scripts, another language in a catalog that the server
// makes for whoever uses the device (training/views/words.py), kept for where there is no signal.

const ADDRESS = "/site/words/";
const NAME = "bankermark-words";
const ENGLISH = { lang: "en", words: {} };
const now = { ...ENGLISH, ...kept() };

function kept() {
  try {
    return JSON.parse(localStorage.getItem(NAME));
  } catch {
    return null; // a browser that keeps nothing speaks English without a signal
  }
}

/**
 * A text in the language of whoever uses the device.
 * @param {string} text in English, as training/device_words.py lists it
 * @param {Object<string, string | number>} [values] what stands in its braces
 * @returns {string}
 */
export function t(text, values = {}) {
  return (now.words[text] ?? text).replace(/\{(\w+)\}/g, (hole, name) => values[name] ?? hole);
}

/** One of two texts, by number; `{count}` stands for it. */
export function tn(count, one, many, values = {}) {
  return t(count === 1 ? one : many, { count, ...values });
}

/** Several things in a sentence. @param {string[]} things one or two */
export function both(things) {
  return things.length < 2 ? things.join("") : t("{one} and {other}", { one: things[0], other: things[1] });
}

/** How days and times are written. @param {string} english the locale where English is spoken */
export function locale(english) {
  return now.lang === "en" ? english : now.lang;
}

/** Use the words given. @param {{lang: string, words: Object<string, string>}} found */
export function speak(found) {
  Object.assign(now, found);
  document.documentElement.lang = now.lang;
}

/**
 * Ask for the words of whoever is signed in; without an answer those kept stay.
 * @returns {Promise<boolean>} whether others are used now than before
 */
export async function freshWords() {
  speak({});
  try {
    const answer = await fetch(ADDRESS, { credentials: "same-origin", redirect: "error" });
    const text = await answer.text();
    const { lang, words } = JSON.parse(text);
    if (!answer.ok || text === localStorage.getItem(NAME)) return false;
    localStorage.setItem(NAME, text);
    const other = lang !== now.lang || lang !== "en";
    speak({ lang, words });
    return other;
  } catch {
    return false; // no signal, or a sign-in page of some network
  }
}
