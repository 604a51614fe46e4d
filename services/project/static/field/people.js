/* Who applied, and under whom; what stands against it at this stop, as the packet tells it. */

import { h } from "./elements.js";
import { choice } from "./fields.js";
import { phone } from "./phone.js";
import { language, severityWord, t } from "./words.js";

const people = () => phone.packet?.packet.applicators ?? [];

/** Returns who applies where nobody else is said: the person of the phone, or the only one. */
export const usualApplicator = () =>
  people().find((each) => each.is_me)?.id ?? (people().length === 1 ? people()[0].id : undefined);

/** Returns how a person stands at a stop; where the packet does not tell, by any certificate. */
const standingOf = (stop, { id, certificates }) =>
  stop?.people?.find((each) => each.id === id) ?? {
    is_certified: certificates.length > 0, number: certificates[0]?.number ?? "", alone: [], over: [],
  };

const label = (stop) => (person) => `${person.name}, ${standingOf(stop, person).number || t("no_certificate")}`;

const sentence = (finding) =>
  h("li", { class: finding.severity === "refusal" ? "late" : null },
    h("span", { class: "word" }, severityWord(finding.severity)), " ", finding[language()] ?? finding.en);

const against = (findings, id) =>
  findings.length ? h("ul", { id, role: "status" }, findings.map(sentence)) : null;

/** The fields of who applied; a stop that is in no packet knows nothing of its place. */
export const peopleFields = (form, stop = null) => {
  const [part, overPart] = [h("div", {}), h("div", {})];
  const byId = (id) => people().find((each) => each.id === id);
  const needsSupervisor = (person) => {
    const { is_certified: isCertified, alone } = standingOf(stop, person);
    return !isCertified || alone.some(({ severity }) => severity === "refusal");
  };
  const supervisor = (applicator) =>
    choice({
      name: "supervisor", label: t("under_whom"), value: form.draft.supervisor,
      options: people().filter((each) => each.id !== applicator && each.certificates.length).map((each) => [each.id, label(stop)(each)]),
      onset: (id) => {
        form.set({ supervisor: id });
        drawOver();
      },
    });
  const drawOver = () => {
    const [who, over] = [byId(form.draft.applicator), byId(form.draft.supervisor)];
    const isUnder = who && over && needsSupervisor(who);
    overPart.replaceChildren(...[isUnder ? against(standingOf(stop, over).over, "against-supervisor") : null].filter(Boolean));
  };
  const draw = () => {
    const who = byId(form.draft.applicator);
    part.replaceChildren(...[
      who ? against(standingOf(stop, who).alone, "against-applicator") : null,
      who && needsSupervisor(who) ? supervisor(who.id) : null,
    ].filter(Boolean));
    drawOver();
  };
  const who = choice({
    name: "applicator", label: t("who_applied"), value: form.draft.applicator, options: people().map((each) => [each.id, label(stop)(each)]),
    onset: (id) => {
      form.set({ applicator: id, supervisor: byId(id)?.supervisor ?? undefined });
      draw();
    },
  });
  draw();
  return [who, part, overPart];
};
