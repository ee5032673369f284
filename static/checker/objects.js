// The objects of a PDF (ISO 32000-1, 7.3): as much of the syntax as a record uses.

const SPACE = /[\0\t\n\f\r ]/;
const BREAK = /[\0\t\n\f\r ()<>[\]{}/%]/;
const DEEPEST = 40;
const ESCAPES = { n: "\n", r: "\r", t: "\t", b: "\b", f: "\f" };

export class Name {
  constructor(text) {
    this.text = text;
  }
}

export class Reference {
  constructor(number, generation) {
    this.number = number;
    this.generation = generation;
  }
}

// Reads one object after another from text in which each letter is one byte.
export class Reader {
  constructor(text, place = 0) {
    this.text = text;
    this.place = place;
  }

  skip() {
    for (;;) {
      while (this.place < this.text.length && SPACE.test(this.text[this.place])) this.place += 1;
      if (this.text[this.place] !== "%") return;
      while (this.place < this.text.length && !/[\r\n]/.test(this.text[this.place])) this.place += 1;
    }
  }

  // An object; a word such as "obj" comes back as { word }.
  read(depth = 0) {
    if (depth > DEEPEST) throw new Error("too deep");
    this.skip();
    const two = this.text.slice(this.place, this.place + 2);
    if (!two) throw new Error("the end came too early");
    if (two === "<<") return this.dictionary(depth);
    if (two[0] === "[") return this.array(depth);
    if (two[0] === "(") return this.literal();
    if (two[0] === "<") return this.hex();
    if (two[0] === "/") return this.name();
    return this.number();
  }

  dictionary(depth) {
    this.place += 2;
    const found = new Map();
    for (;;) {
      this.skip();
      if (this.text.startsWith(">>", this.place)) break;
      const key = this.read(depth + 1);
      if (!(key instanceof Name)) throw new Error("a key is no name");
      found.set(key.text, this.read(depth + 1));
    }
    this.place += 2;
    return found;
  }

  array(depth) {
    this.place += 1;
    const found = [];
    for (;;) {
      this.skip();
      if (this.text[this.place] === "]") break;
      found.push(this.read(depth + 1));
    }
    this.place += 1;
    return found;
  }

  literal() {
    let found = "";
    let open = 1;
    for (this.place += 1; ; this.place += 1) {
      const letter = this.text[this.place];
      if (letter === undefined) throw new Error("a string has no end");
      if (letter === "\\") {
        found += this.escaped();
        continue;
      }
      if (letter === "(") open += 1;
      if (letter === ")") open -= 1;
      if (!open) break;
      found += letter;
    }
    this.place += 1;
    return found;
  }

  escaped() {
    const octal = /^[0-7]{1,3}/.exec(this.text.slice(this.place + 1, this.place + 4));
    if (octal) {
      this.place += octal[0].length;
      return String.fromCharCode(Number.parseInt(octal[0], 8) & 0xff);
    }
    this.place += 1;
    const letter = this.text[this.place] ?? "";
    if (letter === "\n") return "";
    return ESCAPES[letter] ?? letter;
  }

  hex() {
    const end = this.text.indexOf(">", this.place);
    if (end < 0) throw new Error("a string has no end");
    const digits = this.text.slice(this.place + 1, end).replace(/[\0\t\n\f\r ]/g, "");
    this.place = end + 1;
    if (/[^0-9a-fA-F]/.test(digits)) throw new Error("no hex digits");
    const pairs = (digits + "0".repeat(digits.length % 2)).match(/../g) ?? [];
    return pairs.map((pair) => String.fromCharCode(Number.parseInt(pair, 16))).join("");
  }

  name() {
    this.place += 1;
    const text = this.word();
    const plain = text.replace(/#([0-9a-fA-F]{2})/g, (_, pair) =>
      String.fromCharCode(Number.parseInt(pair, 16)),
    );
    return new Name(plain);
  }

  word() {
    const start = this.place;
    while (this.place < this.text.length && !BREAK.test(this.text[this.place])) this.place += 1;
    return this.text.slice(start, this.place);
  }

  number() {
    const text = this.word();
    if (!text) throw new Error("this is no object");
    if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(text)) {
      return { true: true, false: false, null: null }[text] ?? (text === "null" ? null : { word: text });
    }
    const rest = /^[\0\t\n\f\r ]+(\d+)[\0\t\n\f\r ]+R(?![^\0\t\n\f\r ()<>[\]{}/%])/.exec(
      this.text.slice(this.place, this.place + 30),
    );
    if (!rest || !/^\d+$/.test(text)) return Number(text);
    this.place += rest[0].length;
    return new Reference(Number(text), Number(rest[1]));
  }
}
