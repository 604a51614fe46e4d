/* What is not yet sent, in words, at the foot at all times. */

import { button, h } from "./elements.js";
import { hourHere } from "./hours.js";
import { phone, unsentPhotos } from "./phone.js";
import { count, language, t } from "./words.js";

const NAG = 24 * 3_600_000; // ms

const sendNow = async () => (await import("./sync.js")).sync({ isAsked: true });

const unsentWords = () => {
  const parts = [];
  if (phone.outbox.size) parts.push(count("unsent", phone.outbox.size));
  if (unsentPhotos().length) parts.push(count("unsent_photos", unsentPhotos().length));
  return parts.join(", ");
};

const isOld = () => [...phone.outbox.values()].some((row) => Date.now() - row.made_at > NAG);

const heardWords = () =>
  phone.heardAt ? t("all_sent", { hour: hourHere(phone.heardAt, language()) }) : t("nothing_yet");

/** Says how sending stands, in one sentence or two. */
export const footWords = () => {
  const waiting = unsentWords();
  const parts = [waiting ? `${waiting}.` : heardWords()];
  if (phone.isSending) parts.push(t("sending"));
  else if (phone.trouble) parts.push(t(`trouble_${phone.trouble}`));
  if (isOld()) parts.push(t("nag"));
  return parts.join(" ");
};

/** The foot of every page; drawn anew when anything changes. */
export const footOf = () => {
  const words = h("span", { id: "unsent-words", role: "status" });
  const newer = button(t("newer_page"), () => location.reload(), { hidden: true });
  const send = button(t("send_now"), sendNow, { id: "send-now" });
  const foot = h("footer", { class: "unsent" }, words, newer, send);
  const draw = () => {
    const next = footWords();
    if (words.textContent !== next) words.textContent = next;
    foot.classList.toggle("grave", isOld());
    newer.hidden = !phone.isNewer;
  };
  draw();
  return Object.assign(foot, { draw });
};
