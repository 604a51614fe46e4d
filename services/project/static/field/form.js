/* A form at work: what is set shows at once, is written at once, and is said to be written only
   when it is.  What the store refused stays in the form and is tried again with the next change. */

import { change } from "./drafts.js";
import { phone } from "./phone.js";

/** @param {object} draft */
export const formOf = (draft) => {
  let pending = {};
  let queue = Promise.resolve();
  const listeners = new Set();
  const form = { draft, writtenAt: draft.written_at ?? null, isUnwritten: false };
  const tell = () => listeners.forEach((listener) => listener(form));

  const write = async () => {
    const fields = pending;
    pending = {};
    try {
      const written = await change(form.draft, fields);
      Object.assign(form, { isUnwritten: false, writtenAt: written.written_at ?? null });
    } catch (error) {
      pending = { ...fields, ...pending };
      Object.assign(form, { isUnwritten: true, refusal: error.name });
    }
    tell();
  };

  /** Sets fields; resolves when they are written or refused. */
  form.set = (fields) => {
    pending = { ...pending, ...fields };
    form.draft = { ...form.draft, ...fields };
    tell();
    queue = queue.then(write);
    return queue;
  };
  /** Takes what another action wrote into the form. */
  form.reread = () => {
    form.draft = { ...form.draft, ...phone.drafts.get(form.draft.key), ...pending };
    tell();
  };
  form.settled = () => queue;
  form.onChange = (listener) => listeners.add(listener);
  return form;
};
