/* A job split over tanks: how full each is, and what is measured into it; the same as the book's
   treatments/rules/tanks.py, and tested against it digit by digit. */

import {
  ZERO,
  absolute,
  asDecimal,
  exact,
  floor,
  isLess,
  isMore,
  isSame,
  least,
  minus,
  over,
  ratio,
  sum,
  times,
} from "./exact.js";
import { ABSURD_ERROR, GOOD_ERROR, PASSING_ERROR, measurePortion } from "./measuring.js";
import { Refused, basisOf, convert, kindOf, positive } from "./units.js";

/** @typedef {import("./exact.js").Fraction} Fraction */

const read = (text) => (text === null || text === undefined ? null : exact(text));
const readPositive = (text) => positive(read(text));

/** Returns the gallons of each tank; a rest too small to spray is spread over all of them. */
export const splitSpray = (spray, tank, smallest) => {
  if (isMore(smallest, tank)) throw new Refused("TankUnusable");
  const full = floor(over(spray, tank));
  const rest = minus(spray, times(tank, ratio(full)));
  const tanks = (count, gallons) => Array.from({ length: Number(count) }, () => gallons);
  if (rest.n === 0n) return tanks(full, tank);
  if (full && isLess(rest, smallest)) return tanks(full + 1n, over(spray, ratio(full + 1n)));
  return [...tanks(full, tank), rest];
};

/** Returns the spray of a job in gallons and, where it is known, the area in square feet. */
const jobOf = (asked) => {
  const [spray, area, output] = [
    asked.spray_gallons,
    asked.treated_area_sq_ft,
    asked.output_gal_per_1000_sq_ft,
  ].map((each) => each ?? null);
  if (spray === null && (area === null || output === null)) throw new Refused("CalibrationMissing");
  const perSqFt = output === null ? null : over(readPositive(output), ratio(1000n));
  if (spray === null) return { spray: times(readPositive(area), perSqFt), area: read(area) };
  const gallons = readPositive(spray);
  if (area !== null) return { spray: gallons, area: readPositive(area) };
  return { spray: gallons, area: perSqFt && over(gallons, perSqFt) };
};

/** Returns the product in so much of a job's spray, in the unit of the basis. */
const productIn = (job, rate, basisName, gallons) => {
  const basis = basisOf(basisName);
  const area = job.area && over(times(job.area, gallons), job.spray);
  const [batch, unit] = basis.isStrength ? [gallons, "gal"] : [area, "ft2"];
  if (batch === null) throw new Refused("CalibrationMissing");
  return over(times(positive(rate), convert(positive(batch), unit, basis.perUnit)), basis.per);
};

/** Returns what a limit allows in so much spray, or null where the area is not known. */
const limitIn = (job, limit, gallons, unit) => {
  const basis = basisOf(limit.basis);
  if (job.area === null && !basis.isStrength) return null;
  return convert(productIn(job, exact(limit.maximum), limit.basis, gallons), basis.unit, unit);
};

const ownLimit = (maximum, basis) =>
  maximum === null || maximum === undefined ? [] : [{ maximum, basis }];

const refuseRateAboveLabel = ({ rate, basis, maximum_rate: most }) => {
  if (read(most) && isMore(exact(rate), exact(most))) {
    throw new Refused("RateAboveLabel", { rate, highest: most, basis });
  }
};

/** Returns the product or an adjuvant as it goes into each tank. */
const additionOf = ({ name, rate, basis, maximum_rate: most, limits = [], minimum_rate = null }) => ({
  name,
  rate: exact(rate),
  basis,
  unit: basisOf(basis).unit,
  limits: [...ownLimit(most, basis), ...limits],
  least: read(minimum_rate),
});

const ceilingIn = (job, addition, gallons) => {
  const known = addition.limits
    .map((limit) => limitIn(job, limit, gallons, addition.unit))
    .filter((each) => each !== null);
  return known.length ? known.reduce(least) : null;
};

const portionOf = (job, addition, gallons) =>
  measurePortion(
    addition.name,
    productIn(job, addition.rate, addition.basis, gallons),
    addition.unit,
    ceilingIn(job, addition, gallons),
  );

// A dry product's own volume is left out: it hardly raises the level.  Common practice.
const gallonsOf = ({ measured }) =>
  kindOf(measured.unit) === "weight" ? ZERO : convert(measured.amount, measured.unit, "gal");

const fill = (job, additions, gallons) => {
  const [product, ...adjuvants] = additions.map((each) => portionOf(job, each, gallons));
  const liquid = sum([product, ...adjuvants].map(gallonsOf));
  return {
    gallons: asDecimal(gallons),
    water_gallons: asDecimal(minus(gallons, liquid)),
    product,
    adjuvants,
  };
};

const measuredInAll = (tanks, unit) =>
  sum(tanks.map(({ product: { measured } }) => convert(measured.amount, measured.unit, unit)));

/** @typedef {{code: string, severity: "note" | "warning" | "refusal", facts: object}} Finding */
const finding = (code, severity, facts = {}) => ({ code, severity, facts });

const onLimits = (job, additions) =>
  additions.flatMap((addition) =>
    addition.limits.flatMap((limit) => {
      const facts = { product: addition.name, maximum: limit.maximum, basis: limit.basis };
      const allowed = limitIn(job, limit, job.spray, addition.unit);
      if (allowed === null) return [finding("limit-unchecked", "refusal", facts)];
      const wanted = productIn(job, addition.rate, addition.basis, job.spray);
      return isMore(wanted, allowed) ? [finding("limit-passed", "refusal", facts)] : [];
    }),
  );

const onPortion = (portion) => {
  const off = absolute(portion.error);
  if (!isMore(off, GOOD_ERROR)) return [];
  if (isMore(off, ABSURD_ERROR)) return [finding("amount-cannot-be-measured", "refusal", portion)];
  return [finding("measuring-error", isMore(off, PASSING_ERROR) ? "warning" : "note", portion)];
};

const onVolume = (tank, smallest) => {
  const facts = { gallons: tank.gallons };
  if (tank.water_gallons.n < 0n) return [finding("over-capacity", "refusal", facts)];
  return isLess(tank.gallons, smallest) ? [finding("batch-too-small", "warning", facts)] : [];
};

/** Tanks of one size are measured alike: one finding speaks for all of them. */
const onTanks = (tanks, smallest) => {
  const unlike = tanks.filter(
    (tank, place) => !tanks.slice(place + 1).some((later) => isSame(later.gallons, tank.gallons)),
  );
  return unlike.flatMap((tank) => [
    ...[tank.product, ...tank.adjuvants].flatMap(onPortion),
    ...onVolume(tank, smallest),
  ]);
};

const onDose = (job, product, tanks) => {
  if (product.least === null) return [];
  const wanted = productIn(job, product.least, product.basis, job.spray);
  const measured = measuredInAll(tanks, product.unit);
  if (!isLess(measured, wanted)) return [];
  return [finding("below-label-minimum", "warning", { product: product.name, measured, wanted })];
};

const totalsOf = (job, product, tanks, storeUnit) => {
  const measured = measuredInAll(tanks, product.unit);
  const meant = productIn(job, product.rate, product.basis, job.spray);
  return {
    total: { amount: asDecimal(meant), unit: product.unit },
    total_measured: { amount: asDecimal(measured), unit: product.unit },
    total_from_store: { amount: asDecimal(convert(measured, product.unit, storeUnit)), unit: storeUnit },
  };
};

/**
 * Returns how a job is mixed, tank by tank, and what is to be said of it; a measured amount never
 * passes the maximum rate or a limit.
 *
 * asked: the arguments of the book's plan_mix, amounts as texts: rate, basis, maximum_rate,
 * minimum_rate, tank_gallons, smallest_batch_gallons, spray_gallons, treated_area_sq_ft,
 * output_gal_per_1000_sq_ft, store_unit, product_name, limits, adjuvants
 *
 * Throws Refused with the name of the book's error.
 */
export const planMix = (asked) => {
  const others = asked.adjuvants ?? [];
  [asked, ...others].forEach(refuseRateAboveLabel);
  const job = jobOf(asked);
  const product = additionOf({ ...asked, name: asked.product_name ?? "product" });
  const additions = [product, ...others.map(additionOf)];
  const smallest = read(asked.smallest_batch_gallons) ?? ZERO;
  const volumes = splitSpray(job.spray, readPositive(asked.tank_gallons), smallest);
  const tanks = volumes.map((gallons) => fill(job, additions, gallons));
  const whole = exact(asked.tank_gallons);
  return {
    spray_gallons: asDecimal(job.spray),
    full_tanks: volumes.filter((gallons) => isSame(gallons, whole)).length,
    tanks,
    ...totalsOf(job, product, tanks, asked.store_unit ?? product.unit),
    findings: [
      ...onLimits(job, additions),
      ...onTanks(tanks, smallest),
      ...onDose(job, product, tanks),
    ],
  };
};

/**
 * Returns what a plan is asked for when the tank or the areas are changed on the spot.  What each
 * planting takes on 1,000 sq ft stays as it was.
 * @param {object} inputs of a plan in the packet
 * @param {{tank?: string, areas: Record<string, string>}} change areas by the planting's id
 */
export const changedInputs = (inputs, change) => {
  const places = inputs.plantings.map((each) => ({ ...each, area: change.areas[each.id] }));
  const gallons = ({ area, gallons_per_1000_sq_ft: output }) =>
    over(times(exact(area), exact(output)), ratio(1000n));
  const spray = sum(places.map(gallons));
  return {
    ...inputs,
    tank_gallons: change.tank ?? inputs.tank_gallons,
    spray_gallons: plain(spray),
    treated_area_sq_ft: plain(sum(places.map(({ area }) => exact(area)))),
  };
};

/** Writes a fraction that ends as a decimal with all of its places. */
const plain = ({ n, d }) => {
  let places = 0;
  for (let rest = d; rest % 10n === 0n || rest % 2n === 0n || rest % 5n === 0n; places += 1) {
    rest = rest % 10n === 0n ? rest / 10n : rest % 2n === 0n ? rest / 2n : rest / 5n;
  }
  const digits = ((n * 10n ** BigInt(places)) / d).toString().padStart(places + 1, "0");
  return places ? `${digits.slice(0, -places)}.${digits.slice(-places)}` : digits;
};

