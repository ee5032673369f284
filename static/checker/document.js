// A PDF as a record is written: reference streams (ISO 32000-1, 7.5.8) and packed objects (7.5.7).

import { latin1 } from "./bytes.js";
import { Name, Reader, Reference } from "./objects.js";

const LARGEST_STREAM = 4 * 1024 * 1024;
const MOST_TABLES = 50;
const MOST_OBJECTS = 100_000;

export class Document {
  constructor(bytes) {
    this.bytes = bytes;
    this.text = latin1(bytes);
    this.places = new Map(); // number -> { at } or { inside, index }
    this.packed = new Map();
    this.trailer = null;
  }

  // Read the reference streams from the newest to the oldest; the newest place of an object counts.
  async open() {
    const found = [...this.text.slice(-200).matchAll(/startxref\s+(\d+)\s+%%EOF/g)].at(-1);
    if (!found) throw new Error("no startxref");
    const seen = new Set();
    for (let at = Number(found[1]); at !== undefined; ) {
      if (seen.has(at) || seen.size > MOST_TABLES) throw new Error("the tables go round");
      seen.add(at);
      const { value, data } = await this.streamAt(at);
      if (value.get("Type")?.text !== "XRef") throw new Error("no reference stream");
      this.trailer ??= value;
      this.take(value, data);
      at = value.get("Prev");
    }
    return this;
  }

  take(table, data) {
    const widths = table.get("W");
    const index = table.get("Index") ?? [0, table.get("Size")];
    let place = 0;
    const next = (width, otherwise) => {
      if (!width) return otherwise;
      let number = 0;
      for (const byte of data.subarray(place, place + width)) number = number * 256 + byte;
      place += width;
      return number;
    };
    for (let pair = 0; pair < index.length; pair += 2) {
      const [first, count] = index.slice(pair, pair + 2);
      if (count > MOST_OBJECTS) throw new Error("too many objects");
      for (let number = first; number < first + count && place < data.length; number += 1) {
        const kind = next(widths[0], 1);
        const [one, two] = [next(widths[1], 0), next(widths[2], 0)];
        if (this.places.has(number)) continue;
        if (kind === 1) this.places.set(number, { at: one });
        else if (kind === 2) this.places.set(number, { inside: one, index: two });
        else this.places.set(number, null);
      }
    }
  }

  // The object at an offset, up to its dictionary; and the reader behind it.
  objectAt(at) {
    const reader = new Reader(this.text, at);
    const [number, , word] = [reader.read(), reader.read(), reader.read()];
    if (!Number.isInteger(number) || word?.word !== "obj") throw new Error("no object is there");
    return { number, value: reader.read(), reader };
  }

  async streamAt(at) {
    const { value, reader } = this.objectAt(at);
    if (!(value instanceof Map)) throw new Error("no stream is there");
    const head = /^\s*stream\r?\n/.exec(this.text.slice(reader.place, reader.place + 40));
    if (!head) throw new Error("no stream is there");
    const length = await this.resolved(value.get("Length"));
    const start = reader.place + head[0].length;
    const raw = this.bytes.subarray(start, start + length);
    if (raw.length !== length) throw new Error("a stream is cut off");
    return { value, data: await unpacked(raw, value) };
  }

  async resolved(value) {
    if (!(value instanceof Reference)) return value;
    const place = this.places.get(value.number);
    if (!place) return null;
    if (place.at !== undefined) return this.objectAt(place.at).value;
    const objects = await this.objectsIn(place.inside);
    return objects[place.index] ?? null;
  }

  async objectsIn(number) {
    const at = this.places.get(number)?.at;
    if (at === undefined) throw new Error("packed objects are missing");
    if (!this.packed.has(number)) {
      const { value, data } = await this.streamAt(at);
      const text = latin1(data);
      const heads = new Reader(text);
      const offsets = [];
      for (let each = 0; each < value.get("N") && each < MOST_OBJECTS; each += 1) {
        heads.read();
        offsets.push(heads.read());
      }
      const first = value.get("First");
      this.packed.set(number, offsets.map((offset) => new Reader(text, first + offset).read()));
    }
    return this.packed.get(number);
  }

  // Whether the catalog names evidence for later checks (ISO 32000-2, 12.8.4.3).
  async hasEvidence() {
    const root = await this.resolved(this.trailer.get("Root"));
    return root?.has("DSS") ?? false;
  }

  // The bytes of the one attached file of this name; null when there is none or several.
  async attached(name) {
    const step = async (from, key) => this.resolved(from?.get?.(key));
    const root = await step(this.trailer, "Root");
    const files = await step(await step(root, "Names"), "EmbeddedFiles");
    const names = (await step(files, "Names")) ?? [];
    const found = [];
    for (let pair = 0; pair + 1 < names.length; pair += 2) {
      if ((await this.resolved(names[pair])) === name) found.push(names[pair + 1]);
    }
    if (found.length !== 1) return null;
    const file = (await step(await this.resolved(found[0]), "EF"))?.get("F");
    const place = file instanceof Reference ? this.places.get(file.number) : null;
    return place?.at === undefined ? null : (await this.streamAt(place.at)).data;
  }
}

async function unpacked(raw, dictionary) {
  const filter = dictionary.get("Filter");
  if (filter === undefined) return raw;
  const name = Array.isArray(filter) && filter.length === 1 ? filter[0] : filter;
  if (!(name instanceof Name) || name.text !== "FlateDecode" || dictionary.has("DecodeParms")) {
    throw new Error("packed in another way");
  }
  const reader = new Blob([raw]).stream().pipeThrough(new DecompressionStream("deflate")).getReader();
  const parts = [];
  let length = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    length += value.length;
    if (length > LARGEST_STREAM) {
      await reader.cancel();
      throw new Error("a stream swells");
    }
    parts.push(value);
  }
  return new Uint8Array(await new Blob(parts).arrayBuffer());
}
