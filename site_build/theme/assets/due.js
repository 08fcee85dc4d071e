/* The list of due batches by the reader's clock, so that a page built yesterday shows what is late today. */
(function () {
  "use strict";

  const tell = window.handbookTell;

  function words(due, latest, now) {
    if ((latest || due) < now) { return "late"; }
    return due.toDateString() === now.toDateString() || due < now ? "today" : "";
  }
  document.addEventListener("DOMContentLoaded", () => {
    document.querySelectorAll("[data-due-list] tr[data-due]").forEach((row) => {
      const place = row.querySelector("[data-due-word]"), latest = row.dataset.latest ? new Date(row.dataset.latest) : null;
      const said = words(new Date(row.dataset.due), latest, new Date());
      place.textContent = said === "late" ? tell("late") : said ? tell("today") : "";
      place.classList.toggle("flag-over", said === "late");
      place.hidden = !said;
    });
  });
}());
