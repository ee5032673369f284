// Elements made by DOM calls. Data only ever becomes text or an attribute, never markup.

const SVG = "http://www.w3.org/2000/svg";

/**
 * Make an element.
 * @param {string} tag
 * @param {Object<string, *>} [attrs] Attributes; `onClick` and the like become listeners; false,
 *   null and undefined leave an attribute out, true writes it empty.
 * @param {...(Node|string|number|null|undefined|false|Array)} children
 * @returns {HTMLElement}
 */
export function h(tag, attrs = {}, ...children) {
  return fill(document.createElement(tag), attrs, children);
}

/**
 * Make an element of a drawing.
 * @param {string} tag
 * @param {Object<string, *>} [attrs]
 * @param {...(Node|string)} children
 * @returns {SVGElement}
 */
export function svg(tag, attrs = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), attrs, children);
}

function fill(element, attrs, children) {
  for (const [name, value] of Object.entries(attrs)) {
    if (value === false || value === null || value === undefined) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2).toLowerCase(), value);
    else if (name === "value" && "value" in element) element.value = value;
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  append(element, children);
  return element;
}

/**
 * Append children, leaving out what is null, undefined or false.
 * @param {Node} parent
 * @param {Array} children
 */
export function append(parent, children) {
  for (const child of children.flat(Infinity)) {
    if (child === null || child === undefined || child === false) continue;
    parent.append(child instanceof Node ? child : String(child));
  }
}

/**
 * Put other children in place of those of an element.
 * @param {Element} parent
 * @param {...*} children
 */
export function replace(parent, ...children) {
  parent.replaceChildren();
  append(parent, children);
}

/**
 * A key: a link where it leads somewhere, else a button.
 * @param {string|Array} label
 * @param {{href?: string, press?: function(Event): *, kind?: string, pressed?: boolean,
 *   name?: string, attrs?: Object}} options `kind`: further classes, such as "strong wide".
 * @returns {HTMLElement}
 */
export function key(label, { href, press, kind = "", pressed, name, attrs = {} } = {}) {
  const shared = { class: `key ${kind}`.trim(), "aria-label": name, ...attrs };
  if (href) return h("a", { ...shared, href }, label);
  return h(
    "button",
    { type: "button", "aria-pressed": pressed === undefined ? null : String(pressed), onClick: press, ...shared },
    label,
  );
}

/**
 * A boxed statement.
 * @param {...*} children Paragraphs; a text becomes one.
 * @returns {HTMLElement}
 */
export function say(...children) {
  return h(
    "div",
    { class: "say" },
    children.flat().map((child) => (typeof child === "string" ? h("p", {}, child) : child)),
  );
}
