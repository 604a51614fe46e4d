/* What a form says, as the book is told it.  Amounts are texts, and never more than was measured. */

import { ZERO, exact, floor, isMore, minus, over, plus, ratio, readDecimal, shown, shownDown, sum, times } from "./exact.js";
import { changedInputs, planMix } from "./mixing.js";

const PLACES = 3; // of an amount in a record
export const AIR = ["wind_mph", "wind_direction", "temperature_f", "humidity_percent", "hours_to_rain"];

const isThere = (value) => value !== undefined && value !== null && value !== "";
const read = (text) => (isThere(text) ? readDecimal(text) : null);

/** Returns the plantings of a stop that were treated. */
export const treated = (stop, draft) =>
  stop.plantings.filter(({ id }) => !(draft.left ?? []).includes(id));

export const areaOf = (draft, planting) => draft.areas?.[planting.id] ?? planting.area_sq_ft;

/** Returns the plans of a stop with the tank and the areas of the form. */
export const plansOf = (stop, draft) => {
  const areas = Object.fromEntries(stop.plantings.map((each) => [each.id, areaOf(draft, each)]));
  return (stop.mix?.plans ?? []).map(({ inputs }) =>
    planMix(changedInputs(inputs, { tank: draft.tank, areas })),
  );
};

/** Returns the sprayer that the form shows as chosen: another one, or that of the plan. */
export const sprayerOf = (stop, draft) => draft.sprayer ?? stop.mix?.sprayer;

const tanksOf = (plans) => plans.flatMap(({ tanks }) => tanks);

/** Returns the gallons in so many tanks, the last of them perhaps in part. */
export const gallonsInTanks = (tanks, count) => {
  let rest = count;
  return tanks.reduce((gallons, tank) => {
    const part = isMore(rest, ratio(1n)) ? ratio(1n) : rest;
    rest = minus(rest, part);
    return plus(gallons, times(tank.gallons, part));
  }, ZERO);
};

/** Returns what was used in all: {gallons, product}, each a fraction or null where it is not known. */
export const usedInAll = (stop, draft, plans) => {
  const tanks = tanksOf(plans);
  const planned = sum(tanks.map((tank) => tank.gallons));
  const gallons = gallonsUsed(draft, tanks, planned);
  const typed = read(draft.product_amount);
  if (typed || !planned.n || !gallons) return { gallons, product: typed };
  const fromStore = sum(plans.map((plan) => plan.total_from_store.amount));
  return { gallons, product: over(times(fromStore, gallons), planned) };
};

const gallonsUsed = (draft, tanks, planned) => {
  if (draft.how === "meter") return read(draft.gallons);
  if (draft.how === "tanks") return gallonsInTanks(tanks, read(draft.tanks_used) ?? ZERO);
  return planned.n ? planned : read(draft.gallons);
};

/** Returns what each planting takes of the whole, as parts that add up to one. */
const shares = (stop, draft) => {
  const places = (stop.mix?.plans ?? []).flatMap(({ inputs }) => inputs.plantings);
  const weight = (planting) => {
    const output = places.find(({ id }) => id === planting.id)?.gallons_per_1000_sq_ft ?? "1";
    return times(exact(areaOf(draft, planting)), exact(output));
  };
  const there = treated(stop, draft).map((planting) => ({ planting, weight: weight(planting) }));
  const all = sum(there.map((each) => each.weight));
  const even = ratio(1n, BigInt(there.length || 1));
  return there.map(({ planting, weight: own }) => ({
    planting,
    share: all.n ? over(own, all) : even,
  }));
};

const downToPlaces = (a) => ratio(floor(times(a, ratio(10n ** BigInt(PLACES)))), 10n ** BigInt(PLACES));

/** Splits an amount by shares; what rounding leaves goes to the last. */
const split = (amount, parts) => {
  const whole = downToPlaces(amount);
  const given = parts.map(({ share }) => downToPlaces(times(whole, share)));
  const last = given.length - 1;
  return given.map((each, place) => (place === last ? minus(whole, sum(given.slice(0, last))) : each));
};

/** Returns what only the rules of the place ask for, as far as it was typed. */
const saidHere = ({ texts }, draft) =>
  Object.fromEntries((texts.en.asked ?? []).map(({ name }) => [name, draft[name]?.trim()]).filter(([, value]) => value));

/** Returns what was applied, one report a planting. */
export const reportsOf = (stop, draft, plans, worn) => {
  const parts = shares(stop, draft);
  const used = usedInAll(stop, draft, plans);
  const product = split(used.product ?? ZERO, parts);
  const gallons = split(used.gallons ?? ZERO, parts);
  return parts.map(({ planting }, place) => ({
    planting: planting.id,
    lot: draft.lot > 0 ? draft.lot : null,
    product_amount: shownDown(product[place], PLACES),
    mix_gallons: shownDown(gallons[place], PLACES),
    ...(draft.areas?.[planting.id] ? { treated_area_sq_ft: shown(exact(areaOf(draft, planting)), 1) } : {}),
    ...(sprayerOf(stop, draft) ? { sprayer: sprayerOf(stop, draft) } : {}),
    ...(worn ? { protective_equipment: worn } : {}),
    ...(draft.incident ? { incident: draft.incident } : {}),
    ...saidHere(stop, draft),
  }));
};

/** Returns the air as it was measured, or null where nothing was. */
export const conditionsOf = (draft) => {
  const measured = Object.fromEntries(AIR.filter((name) => isThere(draft[name])).map((name) => [name, draft[name]]));
  return Object.keys(measured).length ? measured : null;
};

const optional = (told) => Object.fromEntries(Object.entries(told).filter(([, value]) => isThere(value)));

/** Returns what was done at a stop. */
export const completeBody = (stop, draft, plans, worn) => ({
  started_at: draft.started_at,
  reports: stop.products.length ? reportsOf(stop, draft, plans, worn) : [],
  ...optional({
    applicator: draft.applicator,
    supervisor: draft.supervisor,
    posted_at: draft.posted_at,
    conditions: conditionsOf(draft),
    note: draft.note,
  }),
  ...(draft.left?.length ? { left_out: { plantings: draft.left, why: draft.why } } : {}),
});

/** Returns what was done at a stop that was in no packet. */
export const unplannedBody = (draft) => ({
  where: draft.where,
  applications: draft.on
    ? [
        {
          on: draft.on,
          product_name: draft.product_name ?? "",
          product_amount: draft.product_amount || "0",
          mix_gallons: draft.gallons || "0",
          ...(draft.lot > 0 ? { lot: draft.lot, product: draft.product } : {}),
        },
      ]
    : [],
  ...optional({
    started_at: draft.started_at,
    posted_at: draft.posted_at,
    applicator: draft.applicator,
    conditions: conditionsOf(draft),
    note: draft.note,
  }),
});

/** Returns what of a body is another than before, with its whole new value. */
export const changesOf = (before, after) => {
  const names = new Set([...Object.keys(before), ...Object.keys(after)]);
  const same = (name) => JSON.stringify(before[name] ?? null) === JSON.stringify(after[name] ?? null);
  return Object.fromEntries([...names].filter((name) => !same(name)).map((name) => [name, after[name] ?? null]));
};
