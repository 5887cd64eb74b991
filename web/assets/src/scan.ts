// Reads a number off a box with the tablet's camera, where the browser can
// (Barcode Detection API, a draft of the W3C's Web Platform Incubator group).
// Elsewhere the button is not shown, and the number is typed as ever.

interface Found { rawValue: string }
interface Detector { detect(source: HTMLVideoElement): Promise<Found[]> }
declare global {
  interface Window { BarcodeDetector?: new () => Detector }
}

const PAUSE = 150; // milliseconds between two looks

export function watchScans(): void {
  if (!window.BarcodeDetector || !navigator.mediaDevices) return;
  document.documentElement.classList.add("can-scan");
  document.addEventListener("click", (event) => {
    const button = event.target instanceof Element ? event.target.closest<HTMLButtonElement>("button[data-scan]") : null;
    const field = button && document.getElementById(button.dataset.scan ?? "");
    if (field instanceof HTMLInputElement) void scan(field);
  });
}

// scan shows what the camera sees, over the page, until a number is found;
// then it puts that in the field and sends the form. A press on the picture
// gives up.
async function scan(field: HTMLInputElement): Promise<void> {
  const form = field.form;
  let stream: MediaStream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
  } catch {
    document.documentElement.classList.remove("can-scan"); // no camera, or not allowed
    field.focus();
    return;
  }
  const stop = () => {
    for (const track of stream.getTracks()) track.stop();
    picture.remove();
  };
  const picture = document.createElement("button");
  const video = document.createElement("video");
  picture.type = "button";
  picture.className = "scan-picture";
  picture.setAttribute("aria-label", "Stop the camera");
  picture.addEventListener("click", stop);
  video.muted = true;
  video.playsInline = true;
  video.srcObject = stream;
  picture.append(video);
  document.body.append(picture);
  picture.focus();
  await video.play();
  const detector = new window.BarcodeDetector!();
  while (picture.isConnected) {
    const found = await detector.detect(video).catch(() => []);
    const number = found.map((f) => f.rawValue.trim()).find((v) => v !== "");
    if (number && picture.isConnected) {
      stop();
      field.value = field.maxLength > 0 ? number.slice(0, field.maxLength) : number;
      form?.requestSubmit();
      return;
    }
    await new Promise((done) => setTimeout(done, PAUSE));
  }
}
