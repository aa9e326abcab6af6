(() => {
  const form = document.querySelector(".sift"), lids = [...document.querySelectorAll(".piece")];
  const told = lids.map((lid) => lid.querySelector(".ticket").textContent.toLowerCase());
  const sift = () => {
    const words = form.find.value.toLowerCase().split(/\s+/).filter(Boolean), verdict = form.verdict.value;
    let shown = 0;
    lids.forEach((lid, i) => {
      const hit = (!verdict || lid.dataset.verdict === verdict) && words.every((word) => told[i].includes(word));
      lid.hidden = !hit;
      shown += hit;
    });
    form.querySelector("output").textContent = shown === lids.length ? "" : shown + " of " + lids.length;
  };
  form.hidden = false;
  form.addEventListener("input", sift);
  form.addEventListener("submit", (event) => event.preventDefault());
  addEventListener("hashchange", () => {
    const lid = document.getElementById(location.hash.slice(1));
    if (lid && lid.hidden) { form.reset(); sift(); lid.scrollIntoView(); }
  });
})();
