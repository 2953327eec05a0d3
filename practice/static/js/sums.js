// An amount or a total that follows the boxes ticked: `data-sum` names them, `data-adds` of each is what it adds.

/** A plain decimal such as "80.00" as a whole number of the smallest unit. */
function units(text, digits) {
  const [whole, part = ""] = text.split(".");
  return BigInt(whole + part.padEnd(digits, "0").slice(0, digits));
}

/** A whole number of the smallest unit as the reader writes it. */
function written(sum, { digits, mark }) {
  const text = sum.toString().padStart(Number(digits) + 1, "0");
  return Number(digits) ? text.slice(0, -digits) + mark + text.slice(-digits) : text;
}

for (const field of document.querySelectorAll("[data-sum]")) {
  const { sum: name, digits } = field.dataset;
  const isTyped = field.matches("input");
  const add = () => {
    const boxes = [...field.form.elements].filter(each => each.name === name && each.checked);
    if (isTyped && !boxes.length) return;
    const sum = boxes.reduce((all, each) => all + units(each.dataset.adds, Number(digits)), 0n);
    field.value = written(sum, field.dataset);
  };
  field.form.addEventListener("change", ({ target }) => target.name === name && add());
  if (isTyped) continue;
  field.closest("[data-total]").hidden = false;
  add();
}
