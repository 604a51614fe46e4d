/* How fast drops dry, and what heat and damp do to oils, soaps and sulfur: the same as the book's
   treatments/rules/psychrometrics.py and compatibility/heat.py say, and tested against them.
   The figures of a family come with its product; here floats will do, for nothing is measured. */

import { exact, isLess, isMore, shown } from "./exact.js";

const SEA_LEVEL_HPA = 1013.25;
const PSYCHROMETER_PER_K = 0.00066;
const [LEAST, MOST, CAREFUL] = [2, 8, 10]; // °C [SPRAYERS101]
const BORDERLINE = 0.3; // °C
const [FROST, HOTTEST] = [32, 130]; // °F; no Delta T is told beyond them
const HALVINGS = 50;

const saturationHpa = (celsius) => 6.1121 * Math.exp(((18.678 - celsius / 234.5) * celsius) / (257.14 + celsius));

/** Returns the wet bulb temperature in °C at sea level, solved from e = es(Tw) − A P (T − Tw). */
const wetBulb = (celsius, humidity) => {
  const vapour = (saturationHpa(celsius) * humidity) / 100;
  let [low, high] = [celsius - 60, celsius];
  for (let each = 0; each < HALVINGS; each += 1) {
    const middle = (low + high) / 2;
    const cooled = PSYCHROMETER_PER_K * SEA_LEVEL_HPA * (celsius - middle);
    if (saturationHpa(middle) - cooled < vapour) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
};

/** Returns Delta T, dry less wet bulb, in °C; null where it is not told. */
export const deltaT = (temperature, humidity) => {
  if (temperature === null || humidity === null) return null;
  const [fahrenheit, percent] = [Number(shown(temperature, 6)), Number(shown(humidity, 6))];
  if (percent <= 0 || percent > 100 || fahrenheit < FROST || fahrenheit > HOTTEST) return null;
  const celsius = (fahrenheit - 32) / 1.8;
  return celsius - wetBulb(celsius, percent);
};

const nearest = (value) => [LEAST, MOST, CAREFUL].reduce((a, b) => (Math.abs(b - value) < Math.abs(a - value) ? b : a));
const isBorderline = (value) => Math.round(Math.abs(nearest(value) - value) * 100) / 100 <= BORDERLINE;

const bandOf = (value) => {
  if (value < LEAST) return ["delta-t-low", LEAST];
  if (value <= MOST) return null;
  return value <= CAREFUL ? ["delta-t-marginal", MOST] : ["delta-t-high", CAREFUL];
};

/** Returns what the drying of drops has against spraying: {code, severity, facts}. */
export const onDrying = (temperature, humidity) => {
  const value = deltaT(temperature, humidity);
  if (value === null) return [];
  const facts = (limit) => ({ delta_t: value.toFixed(1), limit: String(limit) });
  if (isBorderline(value)) {
    return [{ code: "delta-t-borderline", severity: "note", facts: facts(nearest(value)) }];
  }
  const [code, limit] = bandOf(value) ?? [];
  return code ? [{ code, severity: "warning", facts: facts(limit) }] : [];
};

const inHeat = (temperature, limits, facts) => {
  const told = (limit) => ({ ...facts, temperature: shown(temperature, 3), limit: String(limit) });
  const stop = exact(String(limits.stop));
  if (isMore(temperature, stop) || (limits.stops_at && !isLess(temperature, stop))) {
    return [{ code: "too-hot", severity: limits.severity, facts: told(limits.stop) }];
  }
  if (limits.caution_above !== null && isMore(temperature, exact(String(limits.caution_above)))) {
    return [{ code: "warm", severity: "warning", facts: told(limits.caution_above) }];
  }
  if (limits.caution_below !== null && isLess(temperature, exact(String(limits.caution_below)))) {
    return [{ code: "cold", severity: "warning", facts: told(limits.caution_below) }];
  }
  return [];
};

const inDamp = (humidity, limits, facts) => {
  if (humidity === null || limits.damp_above === null || !isMore(humidity, exact(String(limits.damp_above)))) return [];
  return [{ code: "damp", severity: "warning", facts: { ...facts, humidity: shown(humidity, 3) } }];
};

/** Returns what the air does to leaves under a product of these families. */
export const onLeaves = (temperature, humidity, { name, heat = [] }) =>
  heat.flatMap((limits) => {
    const facts = { product: name, family: limits.family };
    return [...inHeat(temperature, limits, facts), ...inDamp(humidity, limits, facts)];
  });
