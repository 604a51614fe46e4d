/* What is not with the book yet, one by one; a copy of it as a file; leaving the phone. */

import { button, h, p } from "./elements.js";
import { dayAndHour } from "./hours.js";
import { outcomeOf } from "./kept.js";
import { leave } from "./leaving.js";
import { phone, unsent, unsentPhotos } from "./phone.js";
import { back } from "./stop.js";
import { sync } from "./sync.js";
import { count, language, t } from "./words.js";

const line = (row) =>
  h("li", {},
    h("h3", {}, `${t(`kind_${row.event.kind}`)}: ${row.title}`),
    p(dayAndHour(row.event.done_at, row.event.zone || undefined, language()), "quiet"),
    outcomeOf(row, null),
    row.event.kind === "complete" && row.event.visit_id
      ? h("p", { class: "acts" }, button(t("put_it_right"), () => (location.hash = `#/amend/${row.event.visit_id}/${row.event_id}`))) : null);

/** Gives what is unsent as a file that the office can read. */
const saveFile = () => {
  const told = { device: phone.device, written_at: new Date().toISOString(), events: unsent().map(({ event }) => event) };
  const file = new Blob([JSON.stringify(told, null, 1)], { type: "application/json" });
  const address = URL.createObjectURL(file);
  const link = h("a", { href: address, download: "unsent.json" });
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
};

const askToLeave = async () => {
  const waiting = phone.outbox.size + unsentPhotos().length;
  if (!confirm(waiting ? t("leave_unsent", { number: waiting }) : t("leave_sure"))) return;
  await leave();
  sync({ isAsked: true });
  location.hash = "#/";
};

const storageLine = () => {
  if (phone.keepsStorage === null) return null;
  return p(t(phone.keepsStorage ? "storage_stays" : "storage_may_go"));
};

/** The page of what is unsent. */
export const unsentPage = () => {
  const rows = unsent();
  return h("main", { class: "page", id: "main", tabindex: "-1" }, back(), h("h1", {}, t("what_is_not_sent")),
    p(rows.length ? t("unsent_says") : t("all_is_sent"), "lead"),
    h("ul", { class: "rows" }, rows.map(line)),
    unsentPhotos().length ? p(count("unsent_photos", unsentPhotos().length)) : null,
    phone.device ? p(t("this_phone", { name: phone.device.name, person: phone.device.person })) : null, storageLine(),
    h("p", { class: "acts" }, button(t("save_file"), saveFile, { id: "save-file" }), button(t("leave"), askToLeave, { class: "unmake", id: "leave" })));
};
