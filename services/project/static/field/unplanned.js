/* A stop that was in no packet: where it was and what was done; the office makes it whole. */

import { airFields } from "./air.js";
import { photoPart } from "./album.js";
import { keepOrDrop, keptAlone, zoneHere } from "./alone.js";
import { unplannedBody } from "./bodies.js";
import { freshDraft } from "./drafts.js";
import { h, p, step } from "./elements.js";
import { choice, stepper, text } from "./fields.js";
import { formOf } from "./form.js";
import { eventOf } from "./keeping.js";
import { peopleFields, usualApplicator } from "./people.js";
import { draftOf, phone } from "./phone.js";
import { back } from "./stop.js";
import { momentField } from "./times.js";
import { t } from "./words.js";
import { live, writtenLine } from "./written.js";

/* Each lot once, on however many days the truck carries it. */
const onTruck = () => {
  const lines = (phone.packet?.packet.days ?? []).flatMap((day) => day.load);
  return [...new Map(lines.map((line) => [line.lot, line])).values()];
};

const typed = (form, name, label, more = {}) =>
  text({ name, label: t(label), value: form.draft[name], onset: (value) => form.set({ [name]: value }), ...more });

const amount = (form, name, label, unit) =>
  stepper({ name, label: t(label), unit, step: "0.5", least: "0", most: "999999", begins: "1", value: form.draft[name] ?? "", onset: (value) => form.set({ [name]: value }) });

const lots = (form) =>
  choice({
    name: "lot", label: t("which_product"), value: form.draft.lot,
    options: [...onTruck().map((line) => [line.lot, `${line.product_name}, ${line.number || line.not_marked_reason}`]), [-1, t("another_product")]],
    onset: (lot) => {
      const line = onTruck().find((each) => each.lot === lot);
      form.set({ lot, product: line?.product, product_name: line?.product_name ?? "" });
    },
  });

const problemOf = ({ where, on, lot, started_at: started }) => {
  if (!where) return t("say_where");
  if (on && !lot) return t("say_lot");
  return started ? "" : t("say_started");
};

const eventFor = (draft) =>
  eventOf({ kind: "unplanned", body: unplannedBody(draft), zone: zoneHere(), photos: draft.photos, event_id: draft.event_id, done_at: draft.done_at });

const formPart = (form) => [
  step(1, "where-done", t("where_and_when"), typed(form, "where", "where", { hint: t("where_hint") }), momentField(form, zoneHere(), "started_at"), momentField(form, zoneHere(), "done_at")),
  step(2, "what-done", t("what_was_applied"), p(t("unplanned_says")), typed(form, "on", "on_what", { hint: t("on_what_hint") }),
    lots(form), typed(form, "product_name", "product_name"),
    amount(form, "product_amount", "product_amount_stock", ""), amount(form, "gallons", "gallons_used", "gal"),
    peopleFields(form), h("details", {}, h("summary", {}, t("air")), airFields(form, {})), momentField(form, zoneHere(), "posted_at")),
  step(3, "keep", t("keep"), photoPart(form), typed(form, "note", "note", { rows: 3, most: 4000 }), keepOrDrop(form, { problemOf, eventFor, titleOf: ({ where }) => where })),
  live(form, () => writtenLine(form), { class: "written", role: "status" }),
];

/** The page of an unplanned stop. */
export const unplannedPage = (key) => {
  if (key === "new") {
    location.replace(`#/unplanned/unplanned-${freshDraft("").event_id}`);
    return h("main", { class: "page", id: "main", tabindex: "-1" });
  }
  const draft = draftOf(key) ?? freshDraft(key, { applicator: usualApplicator() });
  const page = (...children) => h("main", { class: "page", id: "main", tabindex: "-1" }, back(), h("h1", {}, draft.where || t("unplanned_stop")), children);
  if (draft.kept) return page(keptAlone(draft));
  return Object.assign(page(formPart(formOf(draft))), { isForm: true });
};
