/* What is done at a stop: apply, keep, or put off; when it was kept, what became of it. */

import { airOf, findingsOf, verdictBox } from "./air.js";
import { draftFor } from "./drafts.js";
import { h, p, step } from "./elements.js";
import { formOf } from "./form.js";
import { holdStep } from "./hold.js";
import { bodyOf, keepStep } from "./keep.js";
import { begin, eventOf, keep } from "./keeping.js";
import { keptPart } from "./kept.js";
import { mixBox, mixFields } from "./mix.js";
import { usualApplicator } from "./people.js";
import { refuses } from "./spraying.js";
import { titleOf } from "./stop.js";
import { syncSoon } from "./sync.js";
import { momentField } from "./times.js";
import { t } from "./words.js";
import { live, writtenLine } from "./written.js";

const beginField = (stop, form) => {
  const start = async () => {
    try {
      await form.settled();
      await begin(form.draft, stop, { title: titleOf(stop) });
      form.reread();
      syncSoon();
    } catch (error) {
      form.set({ started_at: undefined });
      alertOf(error);
    }
  };
  const problem = h("p", { class: "problem", role: "alert" });
  const alertOf = (error) => (problem.textContent = t("not_kept", { why: error.name }));
  const field = momentField(form, stop.zone, "started_at", { onnow: start });
  const refuse = () => {
    const isAgainst = !form.draft.started_at && refuses(findingsOf(form, stop));
    const tap = field.querySelector("button.act");
    if (tap) tap.disabled = isAgainst;
    problem.textContent = isAgainst ? t("begin_not_now") : "";
  };
  form.onChange(refuse);
  refuse();
  return h("div", {}, field, problem);
};

const applyStep = (stop, form) =>
  step(2, "apply", t(stop.products.length ? "apply" : "work"),
    stop.products.length ? [airOf(stop, form), live(form, () => verdictBox(form, stop), { id: "verdict" })] : null,
    stop.products.length ? [h("h3", {}, t("mix")), live(form, () => mixBox(stop, form.draft), { id: "mix" }), mixFields(stop, form)] : null,
    beginField(stop, form));

const keepHere = (stop, form) => async () => {
  const event = eventOf({
    kind: "complete", body: bodyOf(stop, form.draft), stop, done_at: form.draft.done_at,
    photos: form.draft.photos, event_id: form.draft.event_id,
  });
  await keep(form.draft, event, { title: titleOf(stop) });
  syncSoon();
};

const workPart = (stop, form) => [
  applyStep(stop, form),
  keepStep(stop, form, { action: t("keep_it"), onkeep: keepHere(stop, form) }),
  live(form, () => writtenLine(form), { class: "written", role: "status" }),
  holdStep(stop, form, titleOf(stop)),
];

const withUsual = (draft) => (draft.applicator ? draft : { ...draft, applicator: usualApplicator() });

/** The parts of a stop after what is read. */
export const workOn = (stop) => {
  const draft = draftFor(stop);
  return draft.kept ? keptPart(draft, stop) : workPart(stop, formOf(withUsual(draft)));
};
