// Without this script the page can be read, printed and ticked by pen. With it, ticks stay in this browser, the lists can be
// filtered by place and person, and a run lights up wherever it stands.
(() => {
  "use strict";
  const { spec, text } = document.body.dataset;
  const store = (() => {
    try { localStorage.setItem("loomwright", "1"); return localStorage; } catch { return null; }
  })();
  const all = (what) => [...document.querySelectorAll(what)];
  const keyOf = (box) => `loomwright ${spec} ${text} ${box.dataset.tick}`; // a changed text begins with empty boxes

  for (const box of all("input[data-tick]")) {
    box.checked = store?.getItem(keyOf(box)) === "1";
    box.addEventListener("change", () => {
      if (box.checked) store?.setItem(keyOf(box), "1"); else store?.removeItem(keyOf(box));
    });
  }

  const form = document.querySelector(".filters");
  form.hidden = false;
  form.addEventListener("submit", (event) => event.preventDefault());
  const told = document.querySelector(".filtered");
  const lacks = (row) => ({ dataset: { filter }, value }) => {
    const of = row.dataset[filter];
    return of !== undefined && !(filter === "place" ? of.split(" ") : [of]).includes(value);
  };
  form.addEventListener("change", () => {
    const wanted = all("select[data-filter]").filter((choice) => choice.value);
    for (const row of all("[data-place], [data-person]")) row.classList.toggle("away", !row.closest(".always") && wanted.some(lacks(row)));
    told.hidden = !wanted.length;
    told.textContent = `Filtered: ${wanted.map(({ dataset, value }) => `${dataset.filter} ${value}`).join(", ")}. `
      + "Cautions and the steps that isolate, join and fuse stay; the rest is hidden here, and printed all the same.";
  });
  document.querySelector("[data-clear]").addEventListener("click", () => {
    for (const box of all("input[data-tick]")) { box.checked = false; store?.removeItem(keyOf(box)); }
  });

  const light = (on) => (event) => {
    const run = event.target.closest?.("[data-run]")?.dataset.run;
    if (run) for (const part of all("[data-run]")) if (part.dataset.run === run) part.classList.toggle("lit", on);
  };
  document.addEventListener("mouseover", light(true));
  document.addEventListener("mouseout", light(false));
})();
