/* Reads a lot's code with the camera where the browser can; picking always works without. */

import { button, h, p } from "./elements.js";
import { t } from "./words.js";

const LOOK_EACH = 300; // ms

const canScan = () => "BarcodeDetector" in window && Boolean(navigator.mediaDevices?.getUserMedia);

const lotIn = (code, lots) => lots.find(({ number }) => number && code.includes(number));

const look = async (video, lots) => {
  const detector = new BarcodeDetector();
  while (video.srcObject?.active) {
    const codes = video.readyState >= 2 ? await detector.detect(video) : [];
    const found = codes.map(({ rawValue }) => lotIn(rawValue, lots)).find(Boolean);
    if (found) return found;
    await new Promise((resolve) => setTimeout(resolve, LOOK_EACH));
  }
  return null;
};

const stop = (video) => {
  video.srcObject?.getTracks().forEach((track) => track.stop());
  video.remove();
};

/** A button that scans a lot of the load, or nothing where the browser cannot. */
export const scanLot = (lots, take) => {
  if (!canScan() || !lots.length) return null;
  const place = h("div", {});
  const scan = async () => {
    const video = h("video", { playsinline: true, muted: true, "aria-label": t("camera") });
    place.replaceChildren(video, button(t("stop_scanning"), () => stop(video)));
    try {
      video.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
      await video.play();
      const lot = await look(video, lots);
      if (lot) take(lot.lot);
      place.replaceChildren();
    } catch (error) {
      place.replaceChildren(p(t("no_camera", { why: error.name }), "problem"));
    } finally {
      stop(video);
    }
  };
  return h("div", {}, button(t("scan_lot"), scan), place);
};
