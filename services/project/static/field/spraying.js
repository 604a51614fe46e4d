/* Whether the air lets a crew spray now: wind, drying, heat and rain; the same as the book's
   treatments/rules/spraying.py says, and tested against it. */

import { onDrying, onLeaves } from "./drying.js";
import { exact, isLess, isMore, least, readDecimal, shown } from "./exact.js";

/** @typedef {{code: string, severity: "note" | "warning" | "refusal", facts: Record<string, string>}} Finding */

const finding = (code, severity, facts) => ({ code, severity, facts });
const told = (amount) => shown(amount, 3);
const read = (text) => (text === null || text === undefined || text === "" ? null : readDecimal(text));

const lowWind = (wind, air, atDusk) => {
  const limit = exact(air.wind_least_mph);
  if (!isLess(wind, limit)) return [];
  const facts = { wind: told(wind), limit: told(limit) };
  return [finding(atDusk ? "still-at-dusk" : "still-air", "warning", facts)];
};

const highWind = (wind, air, labelSpeaks) => {
  const [stop, advised] = [exact(air.wind_stop_mph), exact(air.wind_advised_mph)];
  if (isMore(wind, stop) && !labelSpeaks) {
    return [finding("wind-high", "warning", { wind: told(wind), limit: told(stop) })];
  }
  if (!isMore(wind, advised)) return [];
  return [finding("wind-brisk", "warning", { wind: told(wind), limit: told(advised) })];
};

const onWind = (wind, products, air, atDusk) => {
  if (wind === null) return [finding("wind-unknown", "warning", {})];
  const limits = products.map((each) => read(each.wind_maximum_mph)).filter((each) => each !== null);
  const most = limits.length ? limits.reduce(least) : null;
  if (most && isMore(wind, most)) {
    return [finding("wind-above-label", "refusal", { wind: told(wind), limit: told(most) })];
  }
  const low = lowWind(wind, air, atDusk);
  return low.length ? low : highWind(wind, air, most !== null);
};

const onTemperature = (temperature, humidity, product) => {
  const [lowest, highest] = [read(product.temperature_minimum_f), read(product.temperature_maximum_f)];
  const hasLimit = lowest !== null || highest !== null || Boolean(product.families?.length);
  if (temperature === null && !hasLimit) return [];
  if (temperature === null) return [finding("temperature-unknown", "warning", { product: product.name })];
  const facts = (limit) => ({
    product: product.name,
    temperature: told(temperature),
    limit: told(limit),
  });
  if (highest && isMore(temperature, highest)) {
    return [finding("above-label-heat", "refusal", facts(highest))];
  }
  if (lowest && isLess(temperature, lowest)) {
    return [finding("below-label-heat", "refusal", facts(lowest))];
  }
  return onLeaves(temperature, humidity, product);
};

const onRain = (rain, product, air) => {
  const limit = read(product.rainfast_hours);
  const facts = { product: product.name, rain: rain ? told(rain) : "", limit: limit ? told(limit) : "" };
  if (rain === null) return limit === null ? [] : [finding("rain-unknown", "warning", facts)];
  if (limit && isLess(rain, limit)) return [finding("rain-too-soon", "refusal", facts)];
  const isNear = limit === null && isLess(rain, exact(air.dry_hours));
  return isNear ? [finding("rain-near", "warning", facts)] : [];
};

/**
 * Returns what stands against spraying in this air; nothing means go.
 * @param {Record<string, string | null>} measured wind_mph, temperature_f, humidity_percent, hours_to_rain; empty is unknown
 * @param {object[]} products as the packet tells them
 * @param {object} air the limits where labels are silent
 * @param {boolean} atDusk whether it is the hour when the air grows still
 * @returns {Finding[]}
 */
export const verdict = (measured, products, air, atDusk = false) => [
  ...onWind(read(measured.wind_mph), products, air, atDusk),
  ...onDrying(read(measured.temperature_f), read(measured.humidity_percent)),
  ...products.flatMap((product) => [
    ...onTemperature(read(measured.temperature_f), read(measured.humidity_percent), product),
    ...onRain(read(measured.hours_to_rain), product, air),
  ]),
];

export const refuses = (findings) => findings.some(({ severity }) => severity === "refusal");
