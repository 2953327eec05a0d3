// How long a horse took: the seconds from the first look at its form to Save, in the field `spent`, also where the
// page was left in between. practice/rules/working_time.py says which of them can be a time.

const path = location.pathname;
let began = {};
try {
  began = JSON.parse(localStorage.getItem("began")) ?? {};
  for (const [key, at] of Object.entries(began)) if (!(Date.now() - at < 144e5)) delete began[key];
  began[path] ??= Date.now();
  localStorage.setItem("began", JSON.stringify(began));
} catch {
  began[path] ??= Date.now(); // no store: it begins with this page
}
document.addEventListener("formdata", ({ target, formData }) => {
  if (target.id === "horse") formData.set("spent", Math.round((Date.now() - began[path]) / 1000));
});
