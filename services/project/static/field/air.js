/* The air on the spot: big steppers, the labels' limits beside them, and a plain verdict. */

import { h, p } from "./elements.js";
import { choice, stepper } from "./fields.js";
import { phone } from "./phone.js";
import { refuses, verdict } from "./spraying.js";
import { said, severityWord, t } from "./words.js";

const DIRECTIONS = ["N", "NE", "E", "SE", "S", "SW", "W", "NW", "variable", "calm"];

const MEASURES = [
  { name: "wind_mph", unit: "mph", step: "1", least: "0", most: "80", begins: "4", limit: "wind" },
  { name: "temperature_f", unit: "°F", step: "1", least: "-20", most: "130", begins: "70", limit: "temperature" },
  { name: "humidity_percent", unit: "%", step: "5", least: "0", most: "100", begins: "50", limit: "humidity" },
  { name: "hours_to_rain", step: "1", least: "0", most: "240", begins: "12", limit: "rain" },
];
export const MEASURED = MEASURES.map(({ name }) => name);

const measure = (form, limits) => ({ limit, unit, ...told }) =>
  stepper({
    ...told,
    unit: unit ?? t("hours"),
    label: t(told.name),
    hint: limits[limit] ?? "",
    value: form.draft[told.name] ?? "",
    onset: (value) => form.set({ [told.name]: value }),
  });

const direction = (form, limits) =>
  choice({
    name: "wind_direction",
    label: t("wind_direction"),
    hint: limits.direction,
    value: form.draft.wind_direction,
    options: DIRECTIONS.map((each) => [each, t(`from_${each}`)]),
    onset: (value) => form.set({ wind_direction: value }),
  });

/** Returns what stands against spraying at a stop in the air of its form. */
export const findingsOf = (form, stop) =>
  verdict(form.draft, stop.products, phone.packet.packet.air, stop.at_dusk);

const line = ({ code, severity, facts }) =>
  h("li", { class: severity === "refusal" ? "late" : null },
    h("span", { class: "word" }, severityWord(severity)), " ", t(code, { ...facts, family: facts.family ? t(`family_${facts.family}`) : "" }));

const isMeasured = (draft) => MEASURED.some((name) => draft[name]);

/** Says whether the crew may spray now, in a sentence. */
export const verdictBox = (form, stop) => {
  const findings = findingsOf(form, stop);
  const verdictWord = refuses(findings) ? "hold_now" : findings.length ? "look_first" : "may_spray";
  const words = isMeasured(form.draft) ? t(verdictWord) : t("measure_first");
  return h("div", { class: refuses(findings) ? "verdict grave" : "verdict", role: "status" },
    p(words, "lead"), isMeasured(form.draft) && findings.length ? h("ul", {}, findings.map(line)) : null);
};

/** The steppers of the air. */
export const airFields = (form, limits) => [
  measure(form, limits)(MEASURES[0]),
  direction(form, limits),
  ...MEASURES.slice(1).map(measure(form, limits)),
];

export const airOf = (stop, form) => airFields(form, said(stop.texts).limits);
