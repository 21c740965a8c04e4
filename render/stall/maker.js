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

  // A form in which somebody is typing is not taken away.
  const typing = () => board.contains(document.activeElement) && document.activeElement.matches("input.line");

  const refresh = async () => {
    if (typing()) { setTimeout(refresh, 1000); return; }
    const open = new Set([...board.querySelectorAll("details[open]")].map((d) => d.dataset.keep));
    try {
      const answer = await fetch("/maker/board", { cache: "no-store" });
      if (answer.status === 403) { location.replace("/maker"); return; }
      if (!answer.ok) return;
      const html = await answer.text();
      if (typing()) { setTimeout(refresh, 1000); return; }
      board.replaceChildren(...new DOMParser().parseFromString(html, "text/html").body.childNodes);
      for (const d of board.querySelectorAll("details")) d.open = open.has(d.dataset.keep);
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
      if (events.readyState === EventSource.CLOSED) setTimeout(listen, 3000);
    });
  };
  listen();
  setInterval(() => { if (Date.now() - heard > 30000) down(true); }, 5000);

  board.addEventListener("submit", async (event) => {
    const form = event.target;
    event.preventDefault();
    if (form.dataset.ask && !confirm(form.dataset.ask)) return;
    const button = form.querySelector("button");
    button.disabled = true;
    tell("One moment …");
    try {
      const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) });
      const told = await answer.json();
      tell(told.said || told.error, !answer.ok);
    } catch { tell("The stall does not answer. Nothing is certain: look again when it does.", true); }
    button.disabled = false;
    if (document.activeElement) document.activeElement.blur();
    refresh();
  });
})();
