// After a list was swapped because a link in it was tapped, the focus is on it, and what changed is read out.
//
// htmx brings the focus back to what has the same id; a link to the next page has none. `data-news` marks what is
// read out of a part, its value or its text; the region that reads it stays, because one that comes with the swap is
// often not heard.

let wasTapped = false;
document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  const asked = detail.requestConfig.elt;
  wasTapped = asked.matches("a") && detail.target.contains(asked);
});
document.addEventListener("htmx:afterSettle", ({ detail }) => {
  const part = detail.elt;
  if (wasTapped && [null, document.body].includes(document.activeElement)) {
    part.tabIndex = -1;
    part.focus({ preventScroll: true });
  }
  wasTapped = false;
  const news = part.matches("[data-news]") ? part : part.querySelector("[data-news]");
  if (news) document.getElementById("news").textContent = news.dataset.news || news.innerText;
});
