/* The third step: what was done, by whom, with what, and the button that keeps it. */

import { photoPart } from "./album.js";
import { completeBody } from "./bodies.js";
import { button, h, p, step } from "./elements.js";
import { text, tick } from "./fields.js";
import { reckoned } from "./mix.js";
import { peopleFields } from "./people.js";
import { problemsOf } from "./problems.js";
import { momentField } from "./times.js";
import { usedBox, usedFields } from "./used.js";
import { said, t } from "./words.js";

const wornWords = (stop) => {
  const { items, respirator } = said(stop.texts).protection;
  return [...items, ...respirator].join("; ");
};

/** The fields that only the rules of this place ask for. */
const askedHere = (stop, form) =>
  (said(stop.texts).asked ?? []).map((asked) =>
    text({ ...asked, value: form.draft[asked.name], onset: (value) => form.set({ [asked.name]: value }) }));

/** Returns what was done as the book is told it. */
export const bodyOf = (stop, draft) => {
  const worn = draft.worn ? wornWords(stop) : "";
  return completeBody(stop, draft, reckoned(stop, draft).plans, worn);
};

const partial = (stop, form) => {
  const set = (id) => (isLeft) => {
    const left = (form.draft.left ?? []).filter((each) => each !== id);
    form.set({ left: isLeft ? [...left, id] : left });
  };
  return h("details", { open: Boolean(form.draft.left?.length) }, h("summary", {}, t("left_untreated")),
    stop.plantings.map((each) => tick({ name: "left", label: each.name, value: form.draft.left?.includes(each.id), onset: set(each.id) })),
    text({ name: "why", label: t("why_left"), value: form.draft.why, rows: 2, most: 1000, onset: (why) => form.set({ why }) }));
};

const sprayedPart = (stop, form, used) => [
  ...usedFields(stop, form), used,
  ...peopleFields(form, stop),
  tick({ name: "worn", label: `${t("worn")}: ${wornWords(stop)}`, value: form.draft.worn, onset: (worn) => form.set({ worn }) }),
  momentField(form, stop.zone, "posted_at"),
  partial(stop, form),
  h("details", {}, h("summary", {}, t("incident")),
    text({ name: "incident", label: t("incident_what"), hint: t("incident_hint"), value: form.draft.incident, rows: 2, most: 4000, onset: (incident) => form.set({ incident }) })),
  ...askedHere(stop, form),
];

const problemList = (problems) =>
  h("div", { class: "problems", role: "alert", tabindex: "-1" }, p(t("put_right")),
    h("ul", {}, problems.map(([name, sentence]) => h("li", {}, button(sentence, () => goTo(name), { class: "asked" })))));

const goTo = (name) => {
  const field = document.querySelector(`[name="${name}"], [data-name="${name}"] :is(input, button)`);
  field?.closest("details")?.setAttribute("open", "");
  field?.focus();
};

/**
 * The third step of a stop.
 * @param {object} stop @param {object} form
 * @param {{title?: string, action: string, onkeep: () => Promise<void>, extra?: Node[]}} told
 */
export const keepStep = (stop, form, { title = t("keep"), action, onkeep, extra = [] }) => {
  const used = h("div", { "aria-live": "polite" });
  const problems = h("div", {});
  const draw = () => stop.products.length && used.replaceChildren(usedBox(stop, form.draft));
  form.onChange(draw);
  draw();
  const tryToKeep = async () => {
    await form.settled();
    const found = problemsOf(stop, form.draft);
    problems.replaceChildren(...(found.length ? [problemList(found)] : []));
    if (found.length) return problems.firstChild.focus();
    try {
      await onkeep();
    } catch (error) {
      problems.replaceChildren(h("div", { class: "problems", role: "alert", tabindex: "-1" }, p(t("not_kept", { why: error.name }))));
      problems.firstChild.focus();
    }
  };
  return step(3, "keep", title,
    momentField(form, stop.zone, "done_at"),
    stop.products.length ? sprayedPart(stop, form, used) : null,
    photoPart(form),
    text({ name: "note", label: t("note"), value: form.draft.note, rows: 3, most: 4000, onset: (note) => form.set({ note }) }),
    extra, problems,
    h("p", { class: "acts" }, button(action, tryToKeep, { class: "act", id: "keep-it" })));
};
