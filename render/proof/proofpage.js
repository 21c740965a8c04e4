{
  const find = (id) => document.getElementById(id);
  const cards = [...document.querySelectorAll(".card")];
  const order = document.body.dataset.order;
  const text = find("answer-text");
  const key = `proof ${order} ${crc32(cards.map((card) => card.dataset.digest).join())}`;

  const chosen = (card) => card.querySelector("input[type=radio]:checked")?.value ?? "";
  const quoted = (words) => `"${plain(words).replace(/["“”„]/g, "''")}"`;

  /** What should be changed. A new name alone is only quoted: it can be taken over without typing it again. */
  function wish(card) {
    const changed = [...card.querySelectorAll("[data-was]")].filter((field) => plain(field.value) !== plain(field.dataset.was));
    const more = plain(card.querySelector("textarea").value);
    if (changed.length === 1 && changed[0].dataset.field === "name" && !more) return quoted(changed[0].value);
    const words = changed.map((field) => `${field.dataset.label}: ${quoted(field.value)}`);
    return [...words, more].filter(Boolean).join("; ");
  }

  function answer() {
    const pieces = cards.filter(chosen).map((card) => {
      const right = chosen(card) === "right";
      return { piece: card.dataset.piece, digest: card.dataset.digest, right, wish: right ? "" : wish(card) };
    });
    return { order, note: find("note").value, pieces };
  }

  function count(number, one, many) {
    return `${number} ${number === 1 ? one : many}`;
  }

  function showCard(card) {
    const state = chosen(card);
    card.dataset.state = state;
    card.querySelector(".wish").hidden = state !== "change";
    card.querySelector(".state").textContent = { right: "✓ right", change: "✎ please change" }[state] ?? "";
  }

  function show() {
    cards.forEach(showCard);
    const said = answer();
    const changes = said.pieces.filter((piece) => !piece.right);
    const open = cards.length - said.pieces.length;
    const mute = changes.filter((piece) => !piece.wish).length;
    const parts = [count(said.pieces.length - changes.length, "piece is right", "pieces are right")];
    if (changes.length) parts.push(`${changes.length} to change`);
    parts.push(open ? `${open} not answered yet` : "every piece answered");
    find("summary").textContent = `${parts.join(", ")}.`;
    find("mute").textContent = mute ? `Please say what to change: ${count(mute, "piece has", "pieces have")} no words yet.` : "";
    find("count").textContent = `${said.pieces.length} of ${cards.length} answered`;
    find("next").hidden = !open;
    find("to-send").hidden = open > 0;
    find("rest").hidden = !open;
    find("rest").textContent = open === cards.length ? `All ${open} are right` : `The other ${open} are right`;
    text.value = said.pieces.length || plain(said.note) ? writeAnswer(said) : "";
    for (const id of ["copy", "share", "mail"]) find(id).toggleAttribute("disabled", !text.value);
    showMail();
    keep();
  }

  const LONGEST_MAIL = 1800; // some mail programs cut longer addresses
  function showMail() {
    const mail = find("mail-link");
    const subject = encodeURIComponent(`Answer to order ${order}`);
    let body = encodeURIComponent(text.value.replace(/\n/g, "\r\n"));
    mail.dataset.long = body.length > LONGEST_MAIL ? "yes" : "";
    if (mail.dataset.long) body = encodeURIComponent("Please paste your answer here (it has been copied):\r\n\r\n");
    mail.href = `mailto:${mail.dataset.to}?subject=${subject}&body=${body}`;
  }

  function tell(words) {
    find("told").textContent = words;
  }

  async function copy() {
    try {
      await navigator.clipboard.writeText(text.value);
      return true;
    } catch {
      text.focus();
      text.select();
      return document.execCommand("copy");
    }
  }

  /** Keeps what was answered on this device only, so that a closed page loses nothing. */
  function keep() {
    const fields = [...document.querySelectorAll("main textarea:not([readonly]), main [data-was]")];
    const kept = { choices: cards.map(chosen), words: fields.map((field) => field.value) };
    try {
      localStorage.setItem(key, JSON.stringify(kept));
    } catch { /* a browser that keeps nothing */ }
  }

  function remember() {
    try {
      const kept = JSON.parse(localStorage.getItem(key) ?? "null");
      if (!kept) return;
      cards.forEach((card, index) => {
        const radio = card.querySelector(`input[value="${kept.choices[index]}"]`);
        if (radio) radio.checked = true;
      });
      const fields = [...document.querySelectorAll("main textarea:not([readonly]), main [data-was]")];
      fields.forEach((field, index) => { field.value = kept.words[index] ?? field.value; });
    } catch { /* nothing kept, or nothing that can be read */ }
  }

  function goTo(card) {
    card.scrollIntoView({ block: "start" });
    card.querySelector("input[type=radio]").focus({ preventScroll: true });
  }

  document.documentElement.classList.add("live");
  remember();
  document.addEventListener("input", show);
  find("next").addEventListener("click", () => {
    const open = cards.filter((card) => !chosen(card));
    const here = document.activeElement?.closest(".card");
    const after = here && open.find((card) => here.compareDocumentPosition(card) & Node.DOCUMENT_POSITION_FOLLOWING);
    const next = after || open[0];
    if (next) goTo(next);
  });
  find("rest").addEventListener("click", () => {
    for (const card of cards.filter((each) => !chosen(each))) card.querySelector("input[value=right]").checked = true;
    show();
    tell("All other pieces are marked as right. Now send your answer.");
  });
  find("copy").addEventListener("click", async () => {
    tell(await copy() ? "Copied. Paste it into a message to us." : "Please select the text above and copy it.");
  });
  find("mail").addEventListener("click", () => {
    if (find("mail-link").dataset.long) copy();
    find("mail-link").click();
    tell("Your mail program should open. If it does not, copy the answer instead.");
  });
  find("share").hidden = !navigator.share;
  find("share").addEventListener("click", () => navigator.share({ text: text.value }).catch(() => {}));
  find("print").addEventListener("click", () => window.print());
  show();
}
