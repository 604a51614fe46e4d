/* What a crew can measure: the tools, their steps, and the amount that comes nearest; the same as
   the book's treatments/rules/measuring.py, and tested against it.  Common practice. */

import {
  ONE,
  absolute,
  asDecimal,
  ceil,
  exact,
  floor,
  isLess,
  isMore,
  least,
  minus,
  over,
  ratio,
  times,
} from "./exact.js";
import { convert, isMetric, kindOf, positive } from "./units.js";

/** @typedef {import("./exact.js").Fraction} Fraction */
/** @typedef {{name: string, step: Fraction, unit: string, holds: Fraction | null}} Tool */

export const GOOD_ERROR = exact("0.02");
export const PASSING_ERROR = exact("0.05"); // [PES-SPRAY-GUN]
export const ABSURD_ERROR = exact("0.10");
const MOST_FILLINGS = 4n;

/** @returns {Tool} */
const tool = (name, step, unit, holds) => ({
  name,
  step: exact(step),
  unit,
  holds: holds ? exact(holds) : null,
});
const JUG = tool("jug", "1", "fl oz");
const CUP = tool("measuring cup", "0.25", "fl oz", "8");
const METRIC_JUG = tool("metric jug", "25", "mL");
const METRIC_CUP = tool("metric measuring cup", "5", "mL", "235");
const SYRINGE = tool("syringe", "1", "mL", "60");
const SMALL_SYRINGE = tool("small syringe", "0.2", "mL", "10");
const SCALE = tool("scale", "1", "g");
const FINE_SCALE = tool("fine scale", "0.1", "g");

/** Returns the tools for a product counted in a unit, the coarsest first. */
export const toolsFor = (unit) => {
  if (kindOf(unit) === "weight") return [SCALE, FINE_SCALE];
  const metric = [METRIC_CUP, SYRINGE, SMALL_SYRINGE];
  return isMetric(unit) ? [METRIC_JUG, ...metric] : [JUG, CUP, ...metric];
};

/** Returns the multiple of a step nearest to an amount and not above a ceiling; halves go down. */
export const nearestStep = (amount, step, ceiling) => {
  const steps = ratio(ceil(minus(over(positive(amount), step), ratio(1n, 2n))));
  const most = ceiling && ratio(floor(over(ceiling, step)));
  return asDecimal(times(most ? least(steps, most) : steps, step));
};

const fillingsOf = ({ holds }, measured) => (holds ? ceil(over(measured, holds)) : 1n);

const measuredWith = (tool, name, amount, unit, ceiling) => {
  const wanted = convert(amount, unit, tool.unit);
  const most = ceiling && convert(ceiling, unit, tool.unit);
  const measured = nearestStep(wanted, tool.step, most);
  return {
    name,
    exact: { amount: asDecimal(amount), unit },
    measured: { amount: measured, unit: tool.unit },
    tool: tool.name,
    fillings: fillingsOf(tool, measured),
    error: asDecimal(minus(over(measured, wanted), ONE)),
  };
};

/**
 * Returns what to measure with the coarsest tool that is within 2 %, or with the nearest; never
 * above the ceiling.
 * @param {string} name @param {Fraction} amount exact, in `unit`
 * @param {string} unit @param {Fraction | null} ceiling the most that any limit allows
 */
export const measurePortion = (name, amount, unit, ceiling) => {
  const portions = toolsFor(unit).map((each) => measuredWith(each, name, amount, unit, ceiling));
  const within = portions.filter(({ fillings }) => fillings <= MOST_FILLINGS);
  const good = within.find(({ error }) => !isMore(absolute(error), GOOD_ERROR));
  const nearer = (a, b) => (isLess(absolute(b.error), absolute(a.error)) ? b : a);
  return good ?? within.reduce(nearer);
};
