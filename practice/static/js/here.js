// Use where I am now: fills in latitude and longitude from the device, where the browser may say them.

import { say } from "./taps.js";

const PATIENCE = 20000;
const NOT_ALLOWED = 1; // GeolocationPositionError.PERMISSION_DENIED
const [latitude, longitude] = ["latitude", "longitude"].map(part => document.querySelector(`[data-here=${part}]`));

function write(field, degrees) {
  // Five decimals are about a yard.
  field.value = degrees.toFixed(5).replace(".", field.dataset.mark);
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

/** Put the button above the two fields; it asks the browser, which asks the reader. */
function offer() {
  const button = document.getElementById("here").content.firstElementChild.cloneNode(true);
  latitude.closest(".field").before(button);
  const found = ({ coords }) => {
    write(latitude, coords.latitude);
    write(longitude, coords.longitude);
    document.getElementById("news").textContent = button.dataset.found;
  };
  const failed = ({ code }) => say(button, button.dataset[code === NOT_ALLOWED ? "refused" : "lost"]);
  button.addEventListener("click", () =>
    navigator.geolocation.getCurrentPosition(found, failed, { enableHighAccuracy: true, timeout: PATIENCE }),
  );
}

// Browsers say it over https and on this computer alone.
if (latitude && longitude && isSecureContext && navigator.geolocation) offer();
