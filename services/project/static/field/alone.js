/* A form that belongs to no stop of the packet: how it is kept or dropped, and what then stands there. */

import { drop } from "./drafts.js";
import { button, h, p } from "./elements.js";
import { ownZone } from "./hours.js";
import { keep } from "./keeping.js";
import { outcomeOf } from "./kept.js";
import { phone } from "./phone.js";
import { receiptOf } from "./receipts.js";
import { syncSoon } from "./sync.js";
import { t } from "./words.js";

/** The zone of the stops, or of the phone where it has none. */
export const zoneHere = () => phone.packet?.packet.stops[0]?.zone ?? ownZone();

/**
 * The buttons under a form.
 * @param {object} form
 * @param {{problemOf: (draft: object) => string, eventFor: (draft: object) => object,
 *   titleOf: (draft: object) => string, action?: string}} told
 */
export const keepOrDrop = (form, { problemOf, eventFor, titleOf, action = t("keep_it") }) => {
  const said = h("p", { class: "problem", role: "alert" });
  const put = async () => {
    await form.settled();
    said.textContent = problemOf(form.draft);
    if (said.textContent) return;
    try {
      await keep(form.draft, eventFor(form.draft), { title: titleOf(form.draft) });
      syncSoon();
    } catch (error) {
      said.textContent = t("not_kept", { why: error.name });
    }
  };
  const away = async () => {
    if (!confirm(t("drop_sure"))) return;
    await drop(form.draft);
    location.hash = "#/";
  };
  return h("div", {}, said, h("p", { class: "acts" }, button(action, put, { class: "act", id: "keep-it" }), button(t("drop"), away)));
};

/** What became of a form that was kept. */
export const keptAlone = (draft) => {
  const box = h("div", { id: "outcome", role: "status" });
  const draw = async () => {
    const row = phone.outbox.get(draft.kept.event_id);
    box.replaceChildren(outcomeOf(row, row ? null : await receiptOf(draft.kept.event_id)));
  };
  draw();
  return h("section", { class: "step" }, h("h2", {}, t("kept_here")), box,
    h("p", { class: "acts" }, button(t("to_stops"), () => (location.hash = "#/"), { class: "act" })));
};
