/* Putting a stop off instead, with the reason. */

import { button, h, p, step } from "./elements.js";
import { choice, text } from "./fields.js";
import { eventOf, keep } from "./keeping.js";
import { t } from "./words.js";

const REASONS = ["wind", "rain", "heat", "cold", "bloom", "access", "stock", "other"];

/** The step by which a stop is put off. */
export const holdStep = (stop, form, title) => {
  const problem = h("p", { class: "problem", role: "alert" });
  const put = async () => {
    await form.settled();
    const { hold_reason: reason, hold_note: note } = form.draft;
    if (!reason) return (problem.textContent = t("say_reason"));
    if (reason === "other" && !note) return (problem.textContent = t("say_other"));
    const body = { reason, ...(note ? { note } : {}) };
    const event = eventOf({ kind: "hold", body, stop, event_id: form.draft.event_id, photos: form.draft.photos });
    try {
      await keep(form.draft, event, { title });
    } catch (error) {
      problem.textContent = t("not_kept", { why: error.name });
    }
  };
  return step(null, "hold", t("or_hold"),
    p(t("hold_says")),
    choice({ name: "hold_reason", label: t("reason"), value: form.draft.hold_reason, options: REASONS.map((each) => [each, t(`reason_${each}`)]), onset: (reason) => form.set({ hold_reason: reason }) }),
    text({ name: "hold_note", label: t("note"), value: form.draft.hold_note, rows: 2, most: 400, onset: (note) => form.set({ hold_note: note }) }),
    problem, h("p", { class: "acts" }, button(t("hold_it"), put, { id: "hold-it" })));
};
