/* Photos of a form: taken or picked, shown small, taken away again. */

import { button, h } from "./elements.js";
import { MOST_PHOTOS, addPhoto, dropPhoto, pictureOf } from "./photos.js";
import { t } from "./words.js";

const SIDE = 96; // px

const thumb = (sha256, words) => {
  const canvas = h("canvas", { width: SIDE, height: SIDE, role: "img", "aria-label": words });
  const draw = async () => {
    const picture = await pictureOf(sha256);
    if (!picture) return;
    const bitmap = await createImageBitmap(picture, { resizeWidth: SIDE });
    canvas.getContext("2d").drawImage(bitmap, 0, 0);
    bitmap.close();
  };
  draw();
  return canvas;
};

const picker = (form, after, words, camera) => {
  const problem = h("p", { class: "problem", role: "alert" });
  const input = h("input", { type: "file", accept: "image/*", multiple: !camera, capture: camera ? "environment" : null, class: "unseen" });
  const take = async () => {
    problem.textContent = "";
    const room = MOST_PHOTOS - form.draft.photos.length;
    for (const file of [...input.files].slice(0, room)) {
      try {
        await addPhoto(form.draft, file);
        form.reread();
      } catch (error) {
        problem.textContent = t(error.name === "InvalidStateError" ? "no_picture" : "picture_not_kept", { name: file.name });
      }
    }
    input.value = "";
    after();
  };
  input.addEventListener("change", take);
  return h("div", {}, h("label", { class: "picker" }, input, h("span", {}, words)), problem);
};

/** The photos of a form. */
export const photoPart = (form) => {
  const shelf = h("ul", { class: "photos" });
  const draw = () =>
    shelf.replaceChildren(...form.draft.photos.map(({ sha256 }, place) => {
      const words = t("photo_number", { number: place + 1 });
      const away = async () => {
        await dropPhoto(form.draft, sha256);
        form.reread();
        draw();
      };
      return h("li", {}, thumb(sha256, words), button(t("take_away"), away, { "aria-label": t("take_away_what", { what: words }) }));
    }));
  draw();
  return h("div", { class: "field" }, h("p", { class: "label" }, t("photos")),
    h("div", { class: "acts" }, picker(form, draw, t("take_photo"), true), picker(form, draw, t("pick_photo"), false)), shelf);
};

