/* What became of what was kept: not sent yet, in the book with its number, or in want of something. */

import { takeUpAgain } from "./drafts.js";
import { button, h, list, p } from "./elements.js";
import { dayAndHour } from "./hours.js";
import { phone } from "./phone.js";
import { receiptOf } from "./receipts.js";
import { standingOf } from "./states.js";
import { language, said, t } from "./words.js";

const recordsLine = ({ records }) =>
  records.length ? p(t("as_records", { numbers: records.map((each) => each.number).join(", ") }), "lead") : null;

const flagLines = ({ flags }) => (flags.length ? [p(t("office_looks")), list("ul", flags.map(said))] : null);

const missingLines = (reply) =>
  reply?.missing?.length ? [p(t("missing_says"), "late"), list("ul", reply.missing.map((each) => each.said))] : null;

const refusalLine = (reply) => (reply?.problem ? p(t("refused_says", { why: reply.problem.detail ?? reply.problem.title }), "late") : null);

/** Tells what the book said of an event. */
export const outcomeOf = (row, receipt) => {
  if (row) return h("div", {}, p(standingOf(row), "lead"), missingLines(row.reply), refusalLine(row.reply));
  if (!receipt) return p(t("state_sent"));
  return h("div", {}, p(t("in_the_book", { when: dayAndHour(receipt.at, undefined, language()) }), "lead"), recordsLine(receipt.reply), flagLines(receipt.reply));
};

const acts = (draft, stop) => {
  if (draft.kept.kind === "hold") return button(t("take_up_again"), () => takeUpAgain(draft), { id: "again" });
  return button(t("put_it_right"), () => (location.hash = `#/amend/${stop.visit}/${draft.kept.event_id}`), { id: "amend" });
};

/** Says that a change of what was kept is told as well. */
const changeLine = async (event) => {
  const change = phone.drafts.get(`amend-${event}`)?.kept;
  if (!change) return null;
  const row = phone.outbox.get(change.event_id);
  if (row) return p(`${t("change")}: ${standingOf(row)}.`);
  const reply = (await receiptOf(change.event_id))?.reply;
  return h("div", {}, p(`${t("change")}: ${t("state_sent")}.`), reply ? [recordsLine(reply), flagLines(reply)] : null);
};

/** What stands in place of the form when a stop was kept. */
export const keptPart = (draft, stop) => {
  const box = h("div", { id: "outcome", role: "status" });
  const draw = async () => {
    const row = phone.outbox.get(draft.kept.event_id);
    const receipt = row ? null : await receiptOf(draft.kept.event_id);
    box.replaceChildren(...[outcomeOf(row, receipt), await changeLine(draft.kept.event_id)].filter(Boolean));
  };
  draw();
  return h("section", { class: "step" }, h("h2", {}, t(draft.kept.kind === "hold" ? "held" : "kept_here")), box,
    h("p", { class: "acts" }, acts(draft, stop), button(t("to_stops"), () => (location.hash = "#/"), { class: "act" })));
};
