/* What is read before the work: what to mind, the way in, the plantings, the product, what to wear. */

import { facts, h, list, p, step } from "./elements.js";

import { phone } from "./phone.js";
import { said, t } from "./words.js";

const minded = ({ place, findings }) =>
  h("div", { class: "minded" }, h("h3", {}, t("mind_here")),
    list("ul", [...place.minded, ...findings]) ?? p(t("nothing_noted")),
    place.access ? p(t("access", { hours: place.access })) : null,
    place.unverified_place ? p(t("unverified", { place: place.unverified_place }), "late") : null);

const plantingLine = (planting) =>
  [planting.name, planting.common_name, planting.plants ? t("plants", { number: planting.plants }) : "",
    planting.in_bloom ? t("in_bloom") : ""].filter(Boolean).join(", ");

const productPart = ({ product }, stop) => {
  if (!product) return p(t("nothing_sprayed"), "lead");
  return [
    h("h3", {}, product.name),
    product.signal_word ? h("p", {}, h("span", { class: "word signal" }, product.signal_word)) : null,
    product.restricted_use ? p(t("restricted"), "late") : null,
    facts([
      [t("registration"), product.registration_number],
      [t("active_ingredient"), product.active_ingredient],
      [t("mode_of_action"), product.mode_of_action],
      [t("lot"), product.lot],
    ]),
    stop.products.some((each) => each.first_aid)
      ? h("details", {}, h("summary", {}, t("first_aid")), list("ul", stop.products.map((each) => each.first_aid).filter(Boolean))) : null,
  ];
};

const wearPart = ({ protection }) => [
  h("h3", {}, t("wear")), list("ul", protection.items) ?? p(t("label_tells")),
  list("ul", protection.respirator),
];

const leavingPart = ({ leaving, sign }, stop) => [
  h("h3", {}, t("when_leaving")), p(leaving.reentry), p(leaving.posting), list("ul", sign),
  leaving.sign_down ? p(t("sign_down", { when: leaving.sign_down })) : null,
];

/** The first step of a stop. */
export const readStep = (stop) => {
  const texts = said(stop.texts);
  return step(1, "read", t("read"),
    minded(texts),
    h("h3", {}, t("plantings")), list("ul", stop.plantings.map(plantingLine)),
    p(t("against", { area: texts.target.area, pest: texts.target.pest })), p(texts.target.purpose),
    productPart(texts, stop),
    texts.product ? wearPart(texts) : null,
    texts.product ? leavingPart(texts, stop) : null,
    p(t(phone.packet.packet.stops.length ? "label_is_law" : "label_tells"), "quiet"));
};
