"use strict";
// Another job, another price of the work: as long as the box still says what the list says for the
// job before. Without this script a box left empty gets the list's price when it is sent.
{
  const prices = JSON.parse(document.getElementById("prices-by-job").textContent);
  const box = document.getElementById("id_price_work");
  const jobs = document.querySelectorAll('input[name="job"]');
  let before = prices[[...jobs].find((job) => job.checked)?.value];
  for (const job of jobs) {
    job.addEventListener("change", () => {
      if (box.value.trim() === "" || Number(box.value) === Number(before)) box.value = prices[job.value];
      before = prices[job.value];
    });
  }
}
