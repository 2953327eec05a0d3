// Photos: made smaller on the device before they are sent, upright, without what it wrote into them.

const [LONGEST, SMALL, QUALITY] = [2000, 160, 0.85];
const jobs = new WeakMap(); // by form

function drawn(picture, longest) {
  const canvas = document.createElement("canvas");
  const scale = Math.min(1, longest / Math.max(picture.width, picture.height));
  canvas.width = Math.round(picture.width * scale) || 1;
  canvas.height = Math.round(picture.height * scale) || 1;
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  return canvas;
}

/** Return a file as it is sent, shown in a row. What this browser cannot draw is left to the server. */
async function smaller(file, row) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    row.append(drawn(picture, SMALL));
    const blob = await new Promise(done => drawn(picture, LONGEST).toBlob(done, "image/jpeg", QUALITY));
    file = new File([blob.slice()], file.name.replace(/(\.\w+)?$/, ".jpg"), { type: "image/jpeg" });
  } catch {}
  row.append(`${file.name}, ${Math.ceil(file.size / 1000)} KB`);
  return file;
}

async function shrink(input) {
  const chosen = [...input.files];
  const list = document.createElement("ul");
  const kept = new DataTransfer();
  list.className = "photos";
  for (const file of chosen) kept.items.add(await smaller(file, list.appendChild(document.createElement("li"))));
  if (chosen[0] !== input.files[0]) return; // others were chosen meanwhile
  input.files = kept.files;
  input.parentElement.querySelector("ul")?.remove();
  input.after(list);
}

document.addEventListener("change", ({ target }) => {
  if (!target.matches("[data-photos]")) return;
  const { form } = target;
  const job = Promise.allSettled([jobs.get(form), shrink(target)]).then(() => jobs.get(form) === job && jobs.delete(form));
  jobs.set(form, job);
});

// A form waits for its photos.
addEventListener(
  "submit",
  event => {
    const { target, submitter } = event;
    if (!jobs.has(target)) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    jobs.get(target).then(() => target.requestSubmit(submitter));
  },
  true,
);
