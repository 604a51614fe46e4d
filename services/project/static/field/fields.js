/* Fields that a thumb can set: steppers, choices, ticks.  Each tells its form what was set. */

import { h } from "./elements.js";
import { exact, isLess, isMore, plus, readDecimal, shown, times } from "./exact.js";
import { t } from "./words.js";

let made = 0;
const nextId = (name) => `${name}-${(made += 1)}`;

const bounded = (value, { least, most }) => {
  if (least !== undefined && isLess(value, exact(least))) return exact(least);
  return most !== undefined && isMore(value, exact(most)) ? exact(most) : value;
};

/** Returns the next value of a stepper; an empty one begins at `begins`. */
export const stepped = (text, direction, range) => {
  const now = readDecimal(text);
  if (now === null) return shown(exact(range.begins ?? range.least ?? "0"), 3);
  return shown(bounded(plus(now, times(exact(range.step), exact(direction))), range), 3);
};

const isWithin = (text, range) => {
  const value = readDecimal(text);
  return value !== null && shown(bounded(value, range), 6) === shown(value, 6);
};

/**
 * A number with a button on either side.
 * @param {{name: string, label: string, unit?: string, value?: string, hint?: string, step: string,
 *   least?: string, most?: string, begins?: string, onset: (value: string) => void}} told
 */
export const stepper = ({ name, label, unit = "", value = "", hint = "", onset, ...range }) => {
  const id = nextId(name);
  const problem = h("p", { class: "problem", id: `${id}-problem`, hidden: true });
  const input = h("input", {
    id, name, value, inputmode: "decimal", autocomplete: "off", enterkeyhint: "done",
    "aria-describedby": `${id}-hint ${id}-problem`,
  });
  const tell = () => {
    const isFine = input.value.trim() === "" || isWithin(input.value, range);
    problem.hidden = isFine;
    problem.textContent = isFine ? "" : t("number_between", { least: range.least ?? "0", most: range.most ?? "–" });
    input.setAttribute("aria-invalid", String(!isFine));
    onset(input.value.trim());
  };
  const move = (direction) => () => {
    input.value = stepped(input.value, direction, range);
    tell();
  };
  input.addEventListener("input", tell);
  const side = (direction, sign, word) =>
    h("button", { type: "button", "aria-label": t(word, { what: label }), onclick: move(direction) }, sign);
  return h("div", { class: "field" },
    h("label", { for: id }, label),
    h("p", { class: "limit", id: `${id}-hint` }, hint),
    h("div", { class: "typed" },
      h("div", { class: "stepper" }, side(-1, "−", "less"), input, side(1, "+", "more")),
      unit ? h("span", { class: "unit" }, unit) : null),
    problem);
};

/**
 * One of several, as large buttons that say which is chosen.
 * @param {{name: string, label: string, hint?: string, value: unknown,
 *   options: [unknown, string][], onset: (value: any) => void}} told
 */
export const choice = ({ name, label, hint = "", value, options, onset }) => {
  const group = nextId(name);
  const radio = ([option, words]) => {
    const input = h("input", { type: "radio", name: group, value: String(option), checked: option === value });
    input.addEventListener("change", () => onset(option));
    return h("label", { class: "option" }, input, h("span", {}, words));
  };
  return h("fieldset", { class: "field choice", "data-name": name },
    h("legend", {}, label), hint ? h("p", { class: "hint" }, hint) : null,
    h("div", { class: "options" }, options.map(radio)));
};

export const tick = ({ name, label, value, onset }) => {
  const input = h("input", { type: "checkbox", name, checked: Boolean(value) });
  input.addEventListener("change", () => onset(input.checked));
  return h("label", { class: "option tick" }, input, h("span", {}, label));
};

/** Words that are typed. */
export const text = ({ name, label, hint = "", value = "", onset, rows = 1, most = 300 }) => {
  const id = nextId(name);
  const tag = rows > 1 ? "textarea" : "input";
  const input = h(tag, { id, name, maxlength: most, rows: rows > 1 ? rows : null, autocomplete: "off" });
  input.value = value;
  input.addEventListener("input", () => onset(input.value));
  return h("div", { class: "field" }, h("label", { for: id }, label), hint ? h("p", { class: "hint" }, hint) : null,
    h("div", { class: "typed" }, input));
};

/** A moment that is set by a tap, and moved by minutes. */
export const moment = ({ name, label, shownAs, action, onnow, onmove, value }) =>
  h("div", { class: "field moment", "data-name": name },
    h("p", { class: "label" }, label, value ? h("output", {}, shownAs) : null),
    h("div", { class: "typed" },
      value ? h("button", { type: "button", onclick: () => onmove(-5), "aria-label": t("five_earlier", { what: label }) }, t("minus_five"))
        : h("button", { type: "button", class: "act", onclick: onnow }, action),
      value ? h("button", { type: "button", onclick: () => onmove(5), "aria-label": t("five_later", { what: label }) }, t("plus_five")) : null));
