/* One stop: read, apply, keep, as a page to scroll; when it is kept, what was kept. */

import { airOf, findingsOf, verdictBox } from "./air.js";
import { draftFor } from "./drafts.js";
import { h, p, step } from "./elements.js";
import { formOf } from "./form.js";
import { holdStep } from "./hold.js";
import { hour } from "./hours.js";
import { bodyOf, keepStep } from "./keep.js";
import { begin, eventOf, keep } from "./keeping.js";
import { keptPart } from "./kept.js";
import { mixBox, mixFields } from "./mix.js";
import { usualApplicator } from "./people.js";
import { stopOf } from "./phone.js";
import { readStep } from "./read.js";
import { refuses } from "./spraying.js";
import { syncSoon } from "./sync.js";
import { momentField } from "./times.js";
import { language, said, t } from "./words.js";

export const back = () => h("p", { class: "whence" }, h("a", { href: "#/" }, t("all_stops")));

const head = (stop) => {
  const { place } = said(stop.texts);
  const at = stop.arrives_at ? hour(stop.arrives_at, stop.zone, language()) : "";
  return h("header", { class: "stop" },
    h("h1", { class: "address" }, place.address),
    p([place.town, place.client].filter(Boolean).join(" · ")),
    place.phone ? h("p", {}, h("a", { href: `tel:${place.phone}` }, place.phone)) : null,
    p([at, t("week_of", { week: stop.week, weeks: stop.weeks })].filter(Boolean).join(" · "), "hours"));
};

export const titleOf = (stop) => said(stop.texts).place.address;

/** A part that is drawn anew whenever the form changes. */
export const live = (form, draw, attributes = {}) => {
  const box = h("div", attributes);
  const again = () => box.replaceChildren(draw());
  form.onChange(again);
  again();
  return box;
};

export const writtenLine = (form) =>
  form.isUnwritten
    ? p(t("not_written", { why: form.refusal }), "problem")
    : p(form.writtenAt ? t("written", { hour: hour(form.writtenAt, undefined, language()) }) : t("nothing_written"), "quiet");

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
  readStep(stop), applyStep(stop, form),
  keepStep(stop, form, { action: t("keep_it"), onkeep: keepHere(stop, form) }),
  live(form, () => writtenLine(form), { class: "written", role: "status" }),
  holdStep(stop, form, titleOf(stop)),
];

const withUsual = (draft) => (draft.applicator ? draft : { ...draft, applicator: usualApplicator() });

/** The page of a stop. */
export const stopPage = (visit) => {
  const stop = stopOf(Number(visit));
  const page = (...children) =>
    h("main", { class: "page", id: "main", tabindex: "-1", "data-stop": visit }, back(), children);
  if (!stop) return page(h("h1", {}, t("no_stop")), p(t("no_stop_says")));
  const draft = draftFor(stop);
  if (draft.kept) return page(head(stop), keptPart(draft, stop));
  const form = formOf(withUsual(draft));
  return Object.assign(page(head(stop), workPart(stop, form)), { isForm: true });
};

