/* What the person of the phone must know before all else. */

import { h, p } from "./elements.js";
import { isFresh, phone } from "./phone.js";
import { t } from "./words.js";

const link = (address, words) => h("a", { href: address, class: "act" }, words);
const told = (children, isGrave) => h("div", { class: isGrave ? "notice grave" : "notice" }, children);

const enrolment = () =>
  phone.isEnrolled && phone.trouble !== "not-enrolled" ? null
    : told([p(t(phone.outbox.size ? "not_enrolled_unsent" : "not_enrolled")), h("p", { class: "acts" }, link("/field/enrol/", t("enrol")))], true);

const age = () => (phone.packet && !isFresh() ? told([p(t("too_old", { hours: phone.packet.packet.kept_hours }))], true) : null);

const storage = () => {
  if (phone.keepsStorage === null || phone.keepsStorage) return null;
  return told([p(t("storage_may_go"))], false);
};

const loss = () => {
  if (!phone.lost) return null;
  const { kind, from, to } = phone.lost;
  return told([p(t(kind === "phone" ? "phone_lost" : "book_misses", { from, to }))], true);
};

export const notices = () => [enrolment(), age(), loss(), storage()];
