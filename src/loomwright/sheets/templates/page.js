// Without this script the page can be read, printed and ticked by pen. With it, ticks stay in this browser, the lists can be
// filtered by place and person, and a run lights up wherever it stands.
(() => {
  "use strict";
  const spec = document.body.dataset.spec;
  const store = (() => {
    try { localStorage.setItem("loomwright", "1"); return localStorage; } catch { return null; }
  })();
  const all = (what) => [...document.querySelectorAll(what)];
  const keyOf = (box) => `loomwright ${spec} ${box.dataset.tick}`;

  for (const box of all("input[data-tick]")) {
    box.checked = store?.getItem(keyOf(box)) === "1";
    box.addEventListener("change", () => {
      if (box.checked) store?.setItem(keyOf(box), "1"); else store?.removeItem(keyOf(box));
    });
  }

  const form = document.querySelector(".filters");
  form.hidden = false;
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", () => {
    const wanted = all("select[data-filter]").filter((choice) => choice.value);
    for (const row of all("[data-place], [data-person]")) {
      const away = wanted.some(({ dataset, value }) => row.dataset[dataset.filter] !== undefined && row.dataset[dataset.filter] !== value);
      row.classList.toggle("away", away);
    }
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
