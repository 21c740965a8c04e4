"use strict";
// The maker's page: the board as it changes, and a word when the line is down.
(() => {
  const board = document.getElementById("board");
  const said = document.getElementById("said");
  const banner = document.getElementById("banner");
  let heard = Date.now();

  const tell = (words, bad) => {
    said.textContent = words;
    said.hidden = !words;
    said.classList.toggle("bad", Boolean(bad));
  };

  const down = (isDown) => {
    banner.textContent = isDown ? "The line to the stall is down. Trying again; what you see may be old." : "";
    banner.hidden = !isDown;
  };

  // Whoever works with the keyboard finds the focus where it was, or, where that button is gone, at the top.
  const held = () => {
    const here = document.activeElement;
    const keeper = here && board.contains(here) ? here.closest("[data-keep]") : null;
    return keeper ? keeper.dataset.keep : "";
  };
  const hold = (keep) => {
    if (!keep) return;
    const keeper = board.querySelector(`[data-keep="${CSS.escape(keep)}"]`);
    const field = keeper && (keeper.matches("a") ? keeper : keeper.querySelector("button"));
    if (field) { field.focus(); return; }
    board.tabIndex = -1;
    board.focus({ preventScroll: true });
  };

  const refresh = async () => {
    try {
      const answer = await fetch("/maker/board", { cache: "no-store" });
      if (answer.status === 403) { location.replace("/maker"); return; }
      if (!answer.ok) return;
      const html = await answer.text();
      const keep = held();
      board.replaceChildren(...new DOMParser().parseFromString(html, "text/html").body.childNodes);
      hold(keep);
    } catch { down(true); }
  };

  const listen = () => {
    const events = new EventSource("/maker/events");
    const alive = () => { heard = Date.now(); down(false); };
    events.addEventListener("open", alive);
    events.addEventListener("beat", alive);
    events.addEventListener("changed", () => { alive(); refresh(); });
    events.addEventListener("error", () => {
      down(true);
      if (events.readyState !== EventSource.CLOSED) return;
      refresh();  // after a restart of the stall the passphrase is asked for anew
      setTimeout(listen, 3000);
    });
  };
  listen();
  setInterval(() => { if (Date.now() - heard > 30000) down(true); }, 5000);

  board.addEventListener("submit", async (event) => {
    const form = event.target;
    event.preventDefault();
    if (form.dataset.ask && !confirm(form.dataset.ask)) return;
    const button = form.querySelector("button");
    if (button.dataset.busy) return;
    button.dataset.busy = "yes";
    tell("One moment …");
    try {
      const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) });
      const told = await answer.json();
      tell(told.said || told.error, !answer.ok);
    } catch { tell("The stall does not answer. Nothing is certain: look again when it does.", true); }
    delete button.dataset.busy;
    refresh();
  });
})();
