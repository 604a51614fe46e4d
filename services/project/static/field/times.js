/* When it was begun, ended and posted: by a tap, in the clocks of the place. */

import { h } from "./elements.js";
import { moment } from "./fields.js";
import { hour, moved, stamp } from "./hours.js";
import { language, t } from "./words.js";

/** A moment of a form that is set by a tap and moved by five minutes. */
export const momentField = (form, zone, name, { onnow } = {}) => {
  const part = h("div", {});
  const set = async (value) => {
    await form.set({ [name]: value });
    draw();
  };
  const draw = () => {
    const value = form.draft[name];
    const label = t(name);
    part.replaceChildren(moment({
      name, label, value, action: t(`${name}_now`),
      shownAs: value ? hour(value, language()) : "",
      onnow: async () => {
        if (onnow) await onnow();
        else await set(stamp(new Date(), zone));
        draw();
      },
      onmove: (minutes) => set(moved(value, minutes, zone)),
    }));
  };
  draw();
  return Object.assign(part, { draw });
};
