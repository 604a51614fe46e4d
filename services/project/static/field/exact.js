/* Exact numbers: fractions of whole numbers without bound, and decimals as the book writes them.

   A fraction is {n, d} in lowest terms, d above zero.  Nothing here is ever a float. */

/** @typedef {{n: bigint, d: bigint}} Fraction */

const DIGITS = 28n; // to which the book rounds a decimal that does not end
const TEN = 10n;

/** @param {bigint} a @param {bigint} b @returns {bigint} */
const divisor = (a, b) => (b === 0n ? (a < 0n ? -a : a) : divisor(b, a % b));

/** @param {bigint} n @param {bigint} [d] @returns {Fraction} */
export const ratio = (n, d = 1n) => {
  const common = divisor(n, d) * (d < 0n ? -1n : 1n) || 1n;
  return { n: n / common, d: d / common };
};

export const ZERO = ratio(0n);
export const ONE = ratio(1n);

/**
 * Reads a plain decimal such as "2.500"; null where it is none.
 * @param {string | number | bigint} text
 * @returns {Fraction | null}
 */
export const readDecimal = (text) => {
  const found = /^\s*([+-]?)(\d*)\.?(\d*)\s*$/.exec(String(text));
  if (!found || found[2] + found[3] === "") return null;
  const whole = BigInt(found[2] + found[3]);
  return ratio(found[1] === "-" ? -whole : whole, TEN ** BigInt(found[3].length));
};

/** @param {string | number | bigint} text @returns {Fraction} */
export const exact = (text) => {
  const read = readDecimal(text);
  if (!read) throw new RangeError(`${text} is no amount`);
  return read;
};

export const plus = (a, b) => ratio(a.n * b.d + b.n * a.d, a.d * b.d);
export const minus = (a, b) => ratio(a.n * b.d - b.n * a.d, a.d * b.d);
export const times = (a, b) => ratio(a.n * b.n, a.d * b.d);
export const over = (a, b) => ratio(a.n * b.d, a.d * b.n);
export const absolute = (a) => (a.n < 0n ? ratio(-a.n, a.d) : a);
export const sum = (all) => all.reduce(plus, ZERO);

/** Less than zero where a is less than b, zero where they are the same. */
export const compare = (a, b) => {
  const difference = a.n * b.d - b.n * a.d;
  return difference < 0n ? -1 : difference > 0n ? 1 : 0;
};
export const isLess = (a, b) => compare(a, b) < 0;
export const isMore = (a, b) => compare(a, b) > 0;
export const isSame = (a, b) => compare(a, b) === 0;
export const least = (a, b) => (isLess(b, a) ? b : a);

/** @param {Fraction} a @returns {bigint} */
export const floor = ({ n, d }) => (n >= 0n || n % d === 0n ? n / d : n / d - 1n);
export const ceil = ({ n, d }) => -floor({ n: -n, d });

/** Rounds to a whole number; halves go to the even neighbour. @returns {bigint} */
const toEven = (a) => {
  const low = floor(a);
  const rest = compare(minus(a, ratio(low)), ratio(1n, 2n));
  return rest < 0 || (rest === 0 && low % 2n === 0n) ? low : low + 1n;
};

const scale = (power) => (power >= 0n ? ratio(TEN ** power) : ratio(1n, TEN ** -power));

/**
 * Rounds once at 28 digits, as the book does where a decimal does not end.
 * @param {Fraction} a
 * @returns {Fraction}
 */
export const asDecimal = (a) => {
  if (a.n === 0n) return ZERO;
  const size = absolute(a);
  let power = DIGITS - BigInt(size.n.toString().length - size.d.toString().length);
  while (floor(times(size, scale(power))).toString().length > Number(DIGITS)) power -= 1n;
  while (floor(times(size, scale(power))).toString().length < Number(DIGITS)) power += 1n;
  const rounded = times(ratio(toEven(times(size, scale(power)))), scale(-power));
  return a.n < 0n ? ratio(-rounded.n, rounded.d) : rounded;
};

/** Writes a whole number of the last place as a decimal. */
const placed = (whole, places) => {
  const digits = whole.toString().padStart(places + 1, "0");
  return places ? `${digits.slice(0, -places)}.${digits.slice(-places)}` : digits;
};
const withoutZeros = (text) => (text.includes(".") ? text.replace(/\.?0+$/, "") : text);

/**
 * Writes an amount with all of its places, half to even.
 * @param {Fraction} a
 * @param {number} places
 */
export const fixed = (a, places) => {
  const whole = toEven(times(absolute(asDecimal(a)), scale(BigInt(places))));
  return (a.n < 0n ? "-" : "") + placed(whole, places);
};

/** Writes an amount as a person reads it: at most some places, no needless zeros. */
export const shown = (a, places = 2) => withoutZeros(fixed(a, places));

/** Writes an amount rounded down, so that it is never more than it was. */
export const shownDown = (a, places) => {
  const whole = floor(times(absolute(a), scale(BigInt(places))));
  return withoutZeros((a.n < 0n ? "-" : "") + placed(whole, places));
};
