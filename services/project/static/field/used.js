/* What was used: all that was mixed, so many tanks, or by the meter; the product follows. */

import { usedInAll } from "./bodies.js";
import { h, p } from "./elements.js";
import { choice, stepper } from "./fields.js";
import { shown, shownDown } from "./exact.js";
import { dayOf } from "./phone.js";
import { reckoned } from "./mix.js";
import { scanLot } from "./scan.js";
import { t } from "./words.js";

export const NOT_IN_BOOK = -1; // a lot that the store does not know

const howOptions = [["all", "used_all"], ["tanks", "used_tanks"], ["meter", "used_meter"]];

/** Says what comes of it, in words. */
export const usedBox = (stop, draft) => {
  const { plans } = reckoned(stop, draft);
  const { gallons, product } = usedInAll(stop, draft, plans);
  const unit = stop.products[0].stock_unit;
  const words = gallons && product ? t("used_says", { gallons: shown(gallons, 3), product: shownDown(product, 3), unit }) : t("used_unknown");
  return p(words, "lead");
};

const byMeter = (form) =>
  stepper({
    name: "gallons", label: t("gallons_used"), unit: "gal", step: "0.5", least: "0", most: "999999", begins: "1",
    value: form.draft.gallons ?? "", onset: (value) => form.set({ gallons: value }),
  });

const byTanks = (form) =>
  stepper({
    name: "tanks_used", label: t("tanks_used"), step: "0.25", least: "0", most: "200", begins: "1",
    value: form.draft.tanks_used ?? "", hint: t("tanks_used_hint"), onset: (value) => form.set({ tanks_used: value }),
  });

const productTyped = (stop, form) => {
  const [product] = stop.products;
  return stepper({
    name: "product_amount", label: t("product_used", { product: product.name }), unit: product.stock_unit, step: "0.5",
    least: "0", most: "999999", begins: "1", value: form.draft.product_amount ?? "", hint: t("product_used_hint"),
    onset: (value) => form.set({ product_amount: value }),
  });
};

const lotsOf = (stop) => {
  const ids = new Set(stop.products.slice(0, 1).map((each) => each.id));
  return (dayOf(stop)?.load ?? []).filter((line) => ids.has(line.product));
};

const lotPart = (stop, form) => {
  const lots = lotsOf(stop);
  const part = h("div", {});
  const take = (lot) => {
    form.set({ lot });
    draw();
  };
  const draw = () =>
    part.replaceChildren(
      choice({
        name: "lot", label: t("lot"), value: form.draft.lot,
        options: [...lots.map((line) => [line.lot, line.number || line.not_marked_reason]), [NOT_IN_BOOK, t("lot_not_in_book")]],
        onset: (lot) => form.set({ lot }),
      }),
      ...[scanLot(lots, take)].filter(Boolean));
  draw();
  return part;
};

/** The fields of what was used; the mix may be unknown, then both amounts are set by hand. */
export const usedFields = (stop, form) => {
  const isMixed = Boolean(stop.mix?.plans.length);
  const by = h("div", {});
  const draw = () => {
    const how = isMixed ? (form.draft.how ?? "all") : "meter";
    by.replaceChildren(...(how === "all" ? [] : [how === "meter" ? byMeter(form) : byTanks(form)]));
  };
  draw();
  const how = isMixed
    ? choice({ name: "how", label: t("used"), value: form.draft.how ?? "all", options: howOptions.map(([id, word]) => [id, t(word)]),
      onset: (value) => { form.set({ how: value }); draw(); } })
    : null;
  return [how, by, isMixed ? h("details", {}, h("summary", {}, t("product_by_hand")), productTyped(stop, form)) : productTyped(stop, form), lotPart(stop, form)];
};

