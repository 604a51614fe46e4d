/* Names and factors of units, and the bases in which labels give their rates; the same as the
   book's treatments/rules/units.py, and tested against it. */

import { exact, over, ratio, times } from "./exact.js";

/** @typedef {import("./exact.js").Fraction} Fraction */
/** @typedef {{amount: Fraction, unit: string}} Measure */

/** Something that cannot be worked out; `code` names why, as the book's errors are named. */
export class Refused extends Error {
  /** @param {string} code @param {Record<string, string>} [facts] */
  constructor(code, facts = {}) {
    super(code);
    this.code = code;
    this.facts = facts;
  }
}

// A gallon is 231 cubic inches, an ounce 28.349523125 g, an acre 43,560 ft2 [NIST-HB44];
// an inch is 2.54 cm, so each factor is exact [NIST-SP811].
const FACTORS = {
  volume: {
    mL: "1",
    L: "1000",
    tsp: "4.92892159375",
    tbsp: "14.78676478125",
    "fl oz": "29.5735295625",
    cup: "236.5882365",
    pt: "473.176473",
    qt: "946.352946",
    gal: "3785.411784",
    in3: "16.387064",
  },
  weight: { g: "1", kg: "1000", oz: "28.349523125", lb: "453.59237" },
  area: { m2: "1", ha: "10000", ft2: "0.09290304", acre: "4046.8564224" },
};
const METRIC = new Set(["mL", "L", "g", "kg", "m2", "ha"]);

const DEFINED = new Map(
  Object.entries(FACTORS).flatMap(([kind, units]) =>
    Object.entries(units).map(([unit, factor]) => [unit, { kind, factor: exact(factor) }]),
  ),
);

const defined = (unit) => {
  const found = DEFINED.get(unit);
  if (!found) throw new Refused("UnitMismatch", { unit });
  return found;
};

export const kindOf = (unit) => defined(unit).kind;
export const isMetric = (unit) => METRIC.has(unit);

/**
 * Returns an amount in another unit of the same kind.
 * @param {Fraction} amount @param {string} from @param {string} to
 * @returns {Fraction}
 */
export const convert = (amount, from, to) => {
  if (kindOf(from) !== kindOf(to)) throw new Refused("UnitMismatch", { unit: from, other: to });
  return over(times(amount, defined(from).factor), defined(to).factor);
};

/** Returns an amount once it is known to be more than zero. */
export const positive = (amount) => {
  if (amount === null || amount.n <= 0n) throw new Refused("AmountUnusable");
  return amount;
};

/**
 * Returns what a rate counts: the unit of the product, and the spray or ground it is for.
 * A per cent by volume counts fluid ounces in a hundred.
 * @param {string} name such as "fl oz/gal" or "lb/1000 ft2"
 */
export const basisOf = (name) => {
  if (name === "% v/v") return { unit: "fl oz", per: ratio(100n), perUnit: "fl oz", isStrength: true };
  const [unit, rest] = name.split("/");
  const [, number, perUnit] = /^(\d+)? ?(.+)$/.exec(rest);
  return { unit, per: exact(number || "1"), perUnit, isStrength: kindOf(perUnit) === "volume" };
};
