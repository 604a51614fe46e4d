/* The mix on the spot: what to measure into each tank, by the tank and the areas that are there. */

import { areaOf, plansOf, sprayerOf } from "./bodies.js";
import { facts, h, list, p } from "./elements.js";
import { exact as decimal, fixed, shown, times } from "./exact.js";
import { choice, stepper } from "./fields.js";
import { dayOf } from "./phone.js";
import { Refused } from "./units.js";
import { language, said, severityWord, t } from "./words.js";

const measure = ({ amount, unit }) => `${shown(amount)} ${unit}`;

/** Returns the plans of the form, or why there are none. */
export const reckoned = (stop, draft) => {
  try {
    return { plans: plansOf(stop, draft), why: null };
  } catch (error) {
    if (error instanceof Refused) return { plans: [], why: error.code };
    if (error instanceof RangeError) return { plans: [], why: "AmountUnusable" };
    throw error;
  }
};

const isAlike = (a, b) => shown(a.gallons, 6) === shown(b.gallons, 6);

/** Puts tanks that are filled alike together. */
const alike = (tanks) =>
  tanks.reduce((runs, tank) => {
    const last = runs.at(-1);
    if (last && isAlike(last.tank, tank)) last.count += 1;
    else runs.push({ tank, count: 1 });
    return runs;
  }, []);

const portionLine = ({ name, measured, tool, fillings }) =>
  h("div", { class: "portion" },
    h("dt", {}, name),
    h("dd", {}, h("strong", {}, measure(measured)), " ",
      h("small", {}, fillings > 1n ? t("tool_filled", { tool: t(`tool_${tool}`), number: fillings }) : t(`tool_${tool}`))));

const tankPart = ({ tank, count }) =>
  h("div", { class: "tank" },
    h("p", { class: "label" }, count === 1 ? t("one_tank", { gallons: shown(tank.gallons) }) : t("tanks_each", { number: count, gallons: shown(tank.gallons) })),
    h("dl", { class: "mix" }, portionLine(tank.product), tank.adjuvants.map(portionLine),
      h("div", { class: "portion" }, h("dt", {}, t("water")), h("dd", {}, h("strong", {}, `${shown(tank.water_gallons)} gal`)))));

const factsOf = (finding) => {
  if (!finding.facts.measured?.unit) {
    return Object.fromEntries(Object.entries(finding.facts).map(([name, value]) => [name, value?.d ? shown(value) : value]));
  }
  const { name, tool, measured, exact, error } = finding.facts;
  const percent = fixed(times(error, decimal("100")), 1);
  return { product: name, tool: t(`tool_${tool}`), measured: measure(measured), exact: measure(exact), percent };
};

const findingLine = (finding) =>
  h("li", { class: finding.severity === "refusal" ? "late" : null },
    h("span", { class: "word" }, severityWord(finding.severity)), " ", t(finding.code, factsOf(finding)));

/** What is measured, tank by tank, with what is to be said of it. */
export const mixBox = (stop, draft) => {
  const texts = said(stop.texts).mix;
  if (stop.mix?.why_not) return h("div", {}, p(stop.mix.why_not[language()], "late"), p(t("mix_by_label")));
  const { plans, why } = reckoned(stop, draft);
  if (why) return h("div", {}, p(t(why), "late"));
  const findings = plans.flatMap((plan) => plan.findings);
  return h("div", {},
    alike(plans.flatMap((plan) => plan.tanks)).map(tankPart),
    facts([[t("in_all"), plans.map((plan) => measure(plan.total_measured)).join(" + ")], [t("rate"), texts.rate], [t("label_rate"), texts.label_rate], [t("setting"), texts.sprayer_setting]]),
    findings.length ? h("ul", {}, findings.map(findingLine)) : null,
    isChanged(draft) ? p(t("order_as_before")) : list("ol", texts.order));
};

const isChanged = (draft) => Boolean(draft.tank || draft.areas);

const sprayerChoice = (stop, form, redraw) => {
  const sprayers = dayOf(stop)?.sprayers ?? [];
  if (!sprayers.length) return null;
  return choice({
    name: "sprayer", label: t("sprayer"), value: sprayerOf(stop, form.draft),
    options: sprayers.map((each) => [each.id, `${each.name}, ${Number(each.tank_gallons)} gal`]),
    onset: (id) => {
      const { tank_gallons: tank } = sprayers.find((each) => each.id === id);
      form.set({ sprayer: id, tank: shownText(tank) });
      redraw();
    },
  });
};

const shownText = (text) => String(Number(text));

const tankStepper = (stop, form) =>
  stepper({
    name: "tank", label: t("tank_size"), unit: "gal", step: "0.5", least: "0.5", most: "300",
    value: form.draft.tank ?? shownText(stop.mix.plans[0].inputs.tank_gallons), hint: t("tank_hint"),
    onset: (value) => form.set({ tank: value || undefined }),
  });

const areaStepper = (form) => (planting) =>
  stepper({
    name: `area-${planting.id}`, label: t("area_of", { planting: planting.name }), unit: t("sq_ft"), step: "50", least: "1", most: "9999999",
    value: shownText(areaOf(form.draft, planting)),
    onset: (value) => form.set({ areas: { ...form.draft.areas, [planting.id]: value } }),
  });

/** Tank and areas, to be changed on the spot. */
export const mixFields = (stop, form) => {
  if (!stop.mix?.plans.length) return sprayerChoice(stop, form, () => {});
  const fields = h("div", {});
  const isAnother = () => form.draft.sprayer && form.draft.sprayer !== stop.mix.sprayer;
  const draw = () =>
    fields.replaceChildren(...[sprayerChoice(stop, form, draw), isAnother() ? p(t("another_sprayer"), "late") : null, tankStepper(stop, form), ...stop.plantings.map(areaStepper(form))].filter(Boolean));
  draw();
  return h("details", { class: "change-mix" }, h("summary", {}, t("another_tank_or_area")), fields);
};
