/* Parts of a page that follow a form: drawn anew when it changes, and whether it is written. */

import { h, p } from "./elements.js";
import { hourHere } from "./hours.js";
import { language, t } from "./words.js";

/** A part that is drawn anew whenever the form changes. */
export const live = (form, draw, attributes = {}) => {
  const box = h("div", attributes);
  const again = () => box.replaceChildren(draw());
  form.onChange(again);
  again();
  return box;
};

export const writtenLine = (form) =>
  form.isUnwritten
    ? p(t("not_written", { why: form.refusal }), "problem")
    : p(form.writtenAt ? t("written", { hour: hourHere(form.writtenAt, language()) }) : t("nothing_written"), "quiet");
