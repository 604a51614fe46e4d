/* Who applied, and under whom. */

import { h } from "./elements.js";
import { choice } from "./fields.js";
import { phone } from "./phone.js";
import { t } from "./words.js";

const people = () => phone.packet?.packet.applicators ?? [];

/** Returns who applies where nobody else is said: the person of the phone, or the only one. */
export const usualApplicator = () =>
  people().find((each) => each.is_me)?.id ?? (people().length === 1 ? people()[0].id : undefined);

const label = ({ name, certificates }) => (certificates.length ? `${name}, ${certificates[0].number}` : `${name}, ${t("no_certificate")}`);

const needsSupervisor = (id) => people().some((each) => each.id === id && !each.certificates.length);

export const peopleFields = (form) => {
  const part = h("div", {});
  const supervisor = () =>
    choice({
      name: "supervisor", label: t("under_whom"), value: form.draft.supervisor,
      options: people().filter((each) => each.certificates.length).map((each) => [each.id, label(each)]),
      onset: (id) => form.set({ supervisor: id }),
    });
  const draw = () => part.replaceChildren(...(needsSupervisor(form.draft.applicator) ? [supervisor()] : []));
  const who = choice({
    name: "applicator", label: t("who_applied"), value: form.draft.applicator, options: people().map((each) => [each.id, label(each)]),
    onset: (id) => {
      const own = people().find((each) => each.id === id)?.supervisor ?? undefined;
      form.set({ applicator: id, supervisor: own });
      draw();
    },
  });
  draw();
  return [who, part];
};
