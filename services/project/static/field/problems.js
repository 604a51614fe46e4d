/* What must be put right before a form is kept: sentences, each at the name of its field. */

import { usedInAll } from "./bodies.js";
import { readDecimal } from "./exact.js";
import { MEASURED } from "./air.js";
import { reckoned } from "./mix.js";
import { t } from "./words.js";

const NUMBERS = [...MEASURED, "gallons", "tanks_used", "product_amount", "tank"];

const isUnreadable = (draft) => (name) => draft[name] && readDecimal(draft[name]) === null;

const unreadable = (draft) =>
  NUMBERS.filter(isUnreadable(draft)).map((name) => [name, t("no_number", { what: draft[name] })]);

const times = (draft) => {
  if (!draft.started_at) return [["started_at", t("say_started")]];
  const isBackwards = draft.done_at && Date.parse(draft.done_at) < Date.parse(draft.started_at);
  return isBackwards ? [["done_at", t("ended_first")]] : [];
};

const sprayed = (stop, draft) => {
  const found = [];
  if (!draft.applicator) found.push(["applicator", t("say_who")]);
  if (!draft.lot) found.push(["lot", t("say_lot")]);
  const { plans } = reckoned(stop, draft);
  const { gallons, product } = usedInAll(stop, draft, plans);
  if (!gallons?.n || gallons.n < 0n || !product?.n || product.n < 0n) found.push(["how", t("say_used")]);
  if (draft.left?.length && !draft.why) found.push(["why", t("say_why_left")]);
  if (draft.left?.length === stop.plantings.length) found.push(["left", t("all_left")]);
  return found;
};

/** Returns pairs of a field and a sentence. */
export const problemsOf = (stop, draft) => {
  const found = unreadable(draft);
  if (found.length) return found;
  return [...times(draft), ...(stop.products.length ? sprayed(stop, draft) : [])];
};
