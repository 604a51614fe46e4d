/* Words in the person's language; both languages are on the phone, so that a switch takes no net. */

import { phone } from "./phone.js";
import en from "./words_en.js";
import es from "./words_es.js";

const WORDS = { en, es };
export const LANGUAGES = { en: "English", es: "Español" };

/** Returns what was chosen on this phone, else what its person reads by the book, else the browser's. */
export const language = () =>
  phone.settings.language ?? phone.packet?.packet.language ?? (navigator.language?.startsWith("es") ? "es" : "en");

/**
 * Returns words by their name, with {places} filled.
 * @param {string} name @param {Record<string, unknown>} [facts]
 */
export const t = (name, facts = {}) =>
  WORDS[language()][name].replace(/\{(\w+)\}/g, (place, key) => facts[key] ?? place);

/** Returns words for a number of things: `name_one` for one, else `name_many`. */
export const count = (name, number) => t(`${name}_${number === 1 ? "one" : "many"}`, { number });

/** Returns what the packet says in the person's language. */
export const said = (texts) => texts[language()] ?? texts.en;

/** Returns the word for how a finding binds. */
export const severityWord = (severity) => t(severity === "note" ? "note_word" : severity);
