/* The crew's stops of today and tomorrow, what is on the truck, and whom to call. */

import { button, facts, h, list, p } from "./elements.js";
import { notices } from "./notices.js";
import { phone, stops } from "./phone.js";
import { stateOf } from "./states.js";
import { said, t } from "./words.js";

const stopLine = (stop) => {
  const { arrives, place, target, product, step } = said(stop.texts);
  const work = product?.name ? `${product.name}, ${target.pest}` : `${step}, ${target.pest}`;
  return h("li", {},
    h("a", { href: `#/stop/${stop.visit}`, class: "to-stop" },
      h("span", { class: "hours" }, arrives),
      h("span", { class: "address" }, place.address),
      h("span", { class: "quiet" }, `${place.client} · ${work}`),
      p(stateOf(stop), "state")));
};

const loadLine = (line) => `${line.product_name}: ${Number(line.amount)} ${line.unit}, ${t("lot")} ${line.number || line.not_marked_reason}`;

const truck = (day) => {
  const texts = said(day.texts);
  const lines = day.load.map(loadLine);
  if (day.water_gallons > 0) lines.push(`${t("water")}: ${Number(day.water_gallons)} gal`);
  return h("details", {}, h("summary", {}, t("on_the_truck")), list("ul", lines) ?? p(t("nothing_loaded")),
    list("ul", texts.signs.map((line) => `${line.count} × ${line.sign}`)), list("ul", texts.notes));
};

const contacts = (day) => {
  const { supervisor, supervisor_phone: number, hospital } = said(day.texts).contacts;
  return h("details", {}, h("summary", {}, t("in_an_emergency")), p(t("call_911"), "lead"),
    facts([[t("supervisor"), supervisor], [t("phone"), number ? h("a", { href: `tel:${number}` }, number) : ""], [t("hospital"), hospital]]));
};

const dayPart = (day) => {
  const there = stops().filter((stop) => stop.dispatch === day.dispatch);
  return h("section", {}, h("h2", {}, said(day.texts).day),
    h("ol", { class: "stops" }, there.map(stopLine)), truck(day), contacts(day));
};

const begunLine = (draft) => {
  const [page] = draft.key.split("-");
  const words = page === "note" ? draft.text || t("a_note") : draft.where || t("unplanned_stop");
  return h("li", {}, h("a", { href: `#/${page}/${draft.key}` }, words));
};

const begunLines = () =>
  [...phone.drafts.values()].filter(({ key, kept }) => /^(unplanned|note)-/.test(key) && !kept).map(begunLine);

/** The page of the day. */
export const dayPage = () => {
  const days = stops().length ? phone.packet.packet.days : [];
  const crew = phone.packet?.packet.crew?.name ?? "";
  const begun = begunLines();
  return h("main", { class: "page", id: "main", tabindex: "-1" },
    h("h1", {}, crew || t("field")), notices(),
    days.map(dayPart),
    days.length || !phone.isEnrolled ? null : p(t(phone.packet ? "no_stops" : "no_packet"), "lead"),
    h("div", { class: "acts" },
      button(t("unplanned_stop"), () => (location.hash = "#/unplanned/new")),
      button(t("a_note"), () => (location.hash = "#/note/new")),
      button(t("what_is_not_sent"), () => (location.hash = "#/unsent"))),
    begun.length ? h("section", {}, h("h2", {}, t("begun")), h("ul", {}, begun)) : null);
};
