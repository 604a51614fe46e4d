/* How a stop or an event stands, in words. */

import { hour } from "./hours.js";
import { draftOf, keyOf, phone } from "./phone.js";
import { language, t } from "./words.js";

/** Says how an event in the outbox stands. */
export const standingOf = (row) => {
  if (row.state === "needs-input") return t("state_needs_input");
  return row.state === "refused" ? t("state_refused") : t("state_unsent");
};

/** Says how a stop stands. */
export const stateOf = (stop) => {
  const draft = draftOf(keyOf(stop));
  if (draft?.kept) {
    const row = phone.outbox.get(draft.kept.event_id);
    const what = t(draft.kept.kind === "hold" ? "state_held" : "state_done");
    return `${what}, ${row ? standingOf(row) : t("state_sent")}`;
  }
  if (stop.state === "COMPLETED") return t("state_done_by_other");
  if (draft?.started_at) return t("state_begun", { hour: hour(draft.started_at, language()) });
  return draft?.written_at ? t("state_half") : "";
};
