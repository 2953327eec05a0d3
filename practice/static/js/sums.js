// An amount that follows the boxes ticked: `data-sum` names them, each says in `data-adds` what it adds.

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

for (const field of document.querySelectorAll("input[data-sum]")) {
  field.form.addEventListener("change", ({ target }) => {
    if (target.name !== field.dataset.sum) return;
    const boxes = [...field.form.elements].filter((each) => each.name === target.name && each.checked);
    if (!boxes.length) return;
    const digits = Number(field.dataset.digits);
    const sum = boxes.reduce((all, each) => all + units(each.dataset.adds, digits), 0n);
    field.value = written(sum, field.dataset);
  });
}
