"use strict";
// The customer's page: live picture, an order that is never lost, back to the start when left alone.
(() => {
  const UNSENT = "stall-unsent";
  const page = document.body.dataset.page || "";
  const banner = document.getElementById("banner");

  const say = (words) => { banner.textContent = words; banner.hidden = !words; };

  // Nothing of an earlier visit comes back from the browser's memory of pages.
  addEventListener("pageshow", (event) => { if (event.persisted) location.replace("/"); });

  const reachable = async () => {
    try { return (await fetch("/alive", { cache: "no-store" })).ok; } catch { return false; }
  };

  // ---------------------------------------------------------------- an order that waits to be sent
  const unsent = () => {
    try { return JSON.parse(localStorage.getItem(UNSENT) || "null"); } catch { return null; }
  };

  const send = async (order) => {
    let answer;
    try {
      answer = await fetch("/order", {
        method: "POST", headers: { accept: "application/json" }, body: new URLSearchParams(order),
      });
    } catch { return { later: true }; }
    if (answer.status >= 500 || answer.status === 429 || answer.status === 421) return { later: true };
    try { return await answer.json(); } catch { return { later: true }; }
  };

  let sending = false;
  const deliver = async () => {
    const order = unsent();
    if (!order || sending) return;
    sending = true;
    const told = await send(order);
    sending = false;
    if (told.later) {
      say("Your order is kept here and goes to the table as soon as it answers. Please wait a moment.");
      setTimeout(deliver, 2000);
      return;
    }
    localStorage.removeItem(UNSENT);
    say("");
    if (told.go) { location.replace(told.go); return; }
    const go = document.querySelector("#order .go");
    if (go) go.disabled = false;
    say(told.error || "That did not work. Please ask at the table.");
  };

  const order = document.getElementById("order");
  if (order) {
    order.addEventListener("submit", (event) => {
      event.preventDefault();
      order.querySelector(".go").disabled = true;
      if (!unsent()) localStorage.setItem(UNSENT, JSON.stringify(Object.fromEntries(new FormData(order))));
      deliver();
    });
  }
  deliver();

  // ---------------------------------------------------------------- the live picture
  const wish = document.getElementById("wish");
  if (wish) {
    const drawn = document.getElementById("drawn");
    const sorry = document.getElementById("sorry");
    const others = document.getElementById("others");
    const go = document.getElementById("go");
    const name = document.getElementById("name");
    const whole = "whole" in wish.dataset;
    let wanted = 0;
    let busy = false;

    const picture = (svg) => document.importNode(
      new DOMParser().parseFromString(svg, "image/svg+xml").documentElement, true);

    const choose = (kind, value) => {
      const radio = wish.querySelector(`[name=${kind}][value="${value}"]`);
      if (radio) radio.checked = true;
    };

    const elsewhere = (other) => {
      wish.elements.thing.value = other.thing;
      wish.action = `/thing/${other.thing}`;
      for (const field of wish.querySelectorAll("[name=style],[name=design]")) field.disabled = true;
      const style = document.createElement("input");
      style.type = "hidden"; style.name = "style"; style.value = other.style;
      wish.append(style);
      wish.submit();
    };

    const offer = (other) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(picture(other.svg), other.label);
      button.addEventListener("click", () => {
        if (other.thing !== wish.elements.thing.value) { elsewhere(other); return; }
        choose("style", other.style);
        choose("design", other.design);
        draw();
        go.focus();
      });
      return button;
    };

    const show = (told) => {
      drawn.replaceChildren(picture(told.svg));
      sorry.textContent = told.sorry;
      sorry.hidden = !told.sorry;
      const here = told.others.filter((other) => !whole || other.thing === wish.elements.thing.value);
      others.replaceChildren(...here.map(offer));
      others.hidden = here.length === 0;
      go.disabled = Boolean(told.sorry) || !name.value.trim();
      drawn.dataset.shown = name.value;
    };

    // One request at a time; what is typed meanwhile is drawn next, and only the last of it.
    const draw = async () => {
      const mine = ++wanted;
      if (busy) return;
      busy = true;
      let seen = 0;
      while (seen !== wanted) {
        seen = wanted;
        try {
          const answer = await fetch("/draw", { method: "POST", body: new URLSearchParams(new FormData(wish)) });
          if (answer.status === 400) { location.replace(whole ? "/maker" : "/"); return; }
          if (!answer.ok) throw new Error(answer.status);
          const told = await answer.json();
          say("");
          if (seen === wanted) show(told);
        } catch {
          say("The picture takes a moment longer.");
          await new Promise((done) => setTimeout(done, 1000));
          if (!await reachable()) wanted += 1;
          else if (mine === wanted) wanted += 1;
        }
      }
      busy = false;
    };

    // The same name in every style and design, once the typing pauses.
    let pause = 0;
    let compared = 0;
    const compare = async () => {
      const mine = ++compared;
      const asked = new FormData(wish);
      try {
        const answer = await fetch("/styles", { method: "POST", body: new URLSearchParams(asked) });
        if (!answer.ok) return;
        const told = await answer.json();
        if (mine !== compared) return;
        for (const radio of wish.querySelectorAll("[type=radio]")) {
          const svg = told[radio.name][radio.value];
          radio.parentElement.querySelector(".tiny").replaceChildren(...(svg ? [picture(svg)] : []));
        }
        wish.dataset.compared = `${asked.get("name")}|${asked.get("design") || ""}`;
      } catch { /* the large picture says when the line is down */ }
    };
    wish.addEventListener("input", (event) => {
      draw();
      if (event.target.name === "style") return;
      clearTimeout(pause);
      pause = setTimeout(compare, 400);
    });

    // One question a screen: the parts of the form, one after the other. The maker sees them all at once.
    const parts = [...wish.querySelectorAll("[data-step]")];
    const before = document.getElementById("before");
    const last = go.textContent;
    let at = 0;
    const room = (wish.querySelector("[data-room]") || { dataset: { room: "" } }).dataset.room.split(" ");
    const asked = () => {
      const design = wish.querySelector("[name=design]:checked");
      return parts.filter((part) => part.dataset.step !== "second" || !design || !design.value || room.includes(design.value));
    };
    const turn = (to, focus) => {
      const now = asked();
      at = Math.max(0, Math.min(to, now.length - 1));
      for (const part of parts) part.hidden = part !== now[at];
      before.hidden = at === 0;
      go.textContent = at < now.length - 1 ? "Next" : last;
      if (!focus) return;
      const field = now[at].querySelector("input:checked, input:not([type=radio])");
      now[at].tabIndex = -1;
      (field && matchMedia("(pointer: fine)").matches ? field : now[at]).focus();
      compare();
    };
    if (!whole) {
      turn(0, false);
      wish.classList.add("turned");
      history.replaceState({ at: 0 }, "");
      wish.addEventListener("submit", (event) => {
        if (at >= asked().length - 1) return;
        event.preventDefault();
        turn(at + 1, true);
        history.pushState({ at }, "");
      });
      before.addEventListener("click", () => history.back());
      addEventListener("popstate", (event) => turn((event.state || { at: 0 }).at, true));
    }

    go.disabled = !name.value.trim() || !sorry.hidden;
    if (name.value) { draw(); compare(); }
    if (matchMedia("(pointer: fine)").matches) name.focus();
  }

  // ---------------------------------------------------------------- left alone
  const idle = Number(document.body.dataset.idle) * 1000;
  let last = Date.now();
  for (const kind of ["pointerdown", "keydown", "input", "scroll"]) {
    addEventListener(kind, () => { last = Date.now(); }, { passive: true });
  }
  let leaving = false;
  setInterval(async () => {
    if (idle && !leaving && Date.now() - last > idle) {
      leaving = true;
      if (await reachable()) { location.replace("/"); return; }
      leaving = false;
      document.querySelector("main").hidden = true;
      if (!unsent()) say("One moment, please: the table does not answer.");
    }
  }, 1000);
  if (page === "start") {
    setInterval(async () => {
      if (Date.now() - last > 20000 && !unsent() && await reachable()) location.reload();
    }, 20000);
  }
})();
