/* Putting right what was kept: written anew while it never left the phone, else told as a change. */

import { changesOf } from "./bodies.js";
import { freshDraft } from "./drafts.js";
import { h, p } from "./elements.js";
import { text } from "./fields.js";
import { formOf } from "./form.js";
import { bodyOf, keepStep } from "./keep.js";
import { amend } from "./keeping.js";
import { draftOf, phone, stopOf } from "./phone.js";
import { receiptOf } from "./receipts.js";
import { outcomeOf } from "./kept.js";
import { titleOf } from "./stop.js";
import { airOf } from "./air.js";
import { syncSoon } from "./sync.js";
import { momentField } from "./times.js";
import { t } from "./words.js";
import { live, writtenLine } from "./written.js";

const SHORTEST_REASON = 10; // signs; the book wants so many

const draftOfChange = (event, { form }) => {
  const key = `amend-${event}`;
  const known = draftOf(key);
  if (known && !known.kept) return known;
  return freshDraft(key, { ...form, key, amends: event, kept: null, reason: "", event_id: freshDraft(key).event_id });
};

const reasonField = (form) =>
  text({ name: "amend_reason", label: t("why_change"), hint: t("why_change_hint", { number: SHORTEST_REASON }), value: form.draft.reason, rows: 2, most: 1000, onset: (reason) => form.set({ reason }) });

const changesIn = (stop, row, draft) => {
  const changes = changesOf(row.event.body, bodyOf(stop, draft));
  return draft.done_at && draft.done_at !== row.event.done_at ? { ...changes, done_at: draft.done_at } : changes;
};

class Unfit extends Error {
  constructor(word) {
    super(word);
    this.name = t(word, { number: SHORTEST_REASON });
  }
}

const keepChange = (stop, row, form) => async () => {
  const { reason } = form.draft;
  const changes = changesIn(stop, row, form.draft);
  const isSent = !phone.outbox.has(row.event_id) || phone.outbox.get(row.event_id).attempts > 0;
  if (!Object.keys(changes).length) throw new Unfit("nothing_changed");
  if (isSent && (reason ?? "").trim().length < SHORTEST_REASON) throw new Unfit("reason_too_short");
  const title = t("change_of", { what: titleOf(stop) });
  await amend(form.draft, changes, { reason: reason?.trim(), title, zone: stop.zone, form: form.draft });
  syncSoon();
  location.hash = `#/stop/${stop.visit}`;
};

const fill = async (page, stop, event) => {
  const row = phone.outbox.get(event) ?? (await receiptOf(event));
  if (!row?.form || row.event.kind !== "complete") return page.append(p(t("cannot_change"), "lead"));
  const form = formOf(draftOfChange(event, row));
  page.append(
    outcomeOf(phone.outbox.get(event), row.reply ? row : null),
    h("section", { class: "step", "aria-labelledby": "change" }, h("h2", { id: "change" }, t("as_it_was")),
      stop.products.length ? airOf(stop, form) : "", momentField(form, stop.zone, "started_at")),
    keepStep(stop, form, { title: t("put_it_right"), action: t("keep_change"), onkeep: keepChange(stop, row, form), extra: [reasonField(form)] }),
    live(form, () => writtenLine(form), { class: "written", role: "status" }));
};

/** The page on which a kept stop is put right. */
export const changePage = (visit, event) => {
  const stop = stopOf(Number(visit));
  const page = h("main", { class: "page", id: "main", tabindex: "-1" },
    h("p", { class: "whence" }, h("a", { href: `#/stop/${visit}` }, t("to_the_stop"))),
    h("h1", {}, stop ? titleOf(stop) : t("put_it_right")));
  if (stop) fill(page, stop, event);
  else page.append(p(t("cannot_change"), "lead"));
  return Object.assign(page, { isForm: true });
};
