/* Builds parts of the page. */

const put = (node, name, value) => {
  if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
  else if (value === true) node.setAttribute(name, "");
  else if (value !== false && value !== null && value !== undefined) node.setAttribute(name, value);
};

/**
 * Makes an element; `on…` are listeners, what is null, false or empty is left out.
 * @param {string} tag @param {Record<string, unknown>} [attributes] @param {...(Node | string | null)} children
 */
export const h = (tag, attributes = {}, ...children) => {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) put(node, name, value);
  node.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false && child !== ""));
  return node;
};

export const p = (text, className) => (text ? h("p", { class: className }, text) : null);
export const list = (tag, lines) => (lines?.length ? h(tag, {}, lines.map((line) => h("li", {}, line))) : null);
export const button = (text, onclick, attributes = {}) =>
  h("button", { type: "button", onclick, ...attributes }, text);

/** Pairs of a word and what is said of it. */
export const facts = (pairs, className = "facts") =>
  h("dl", { class: className }, pairs.filter(([, value]) => value).map(([name, value]) => h("div", {}, h("dt", {}, name), h("dd", {}, value))));

/** One of the steps of a stop: read, apply, keep. */
export const step = (number, id, title, ...children) =>
  h("section", { class: "step", "aria-labelledby": id }, h("h2", { id }, number ? h("b", {}, String(number)) : null, title), children);

/** Resolves once what was built is painted. */
export const painted = () =>
  new Promise((done) => (document.hidden ? done() : requestAnimationFrame(() => setTimeout(done))));
