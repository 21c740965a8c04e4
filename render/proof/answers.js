"use strict";
// The twin of answers.py: the same answer gives the same text there and here.

const SPACES = "\\t\\n\\v\\f\\r \\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000";
const SPACE = new RegExp(`[${SPACES}]+`, "g");
const BREAK = /[ \t]*(?:\r\n|[\r\n\v\f\x85\u2028\u2029])[ \t]*/;
const UNSEEN = /[\x00-\x08\x0e-\x1f\x7f\xad\u200b\u2060\ufeff]/g;
const LOST = /[\u200e\u200f\u202a-\u202e\u2066-\u2069]/g;
const FOLDS = [
  [/[‘’‚‛′`´ʼ]/g, "'"],
  [/[“”„‟″«»]|''/g, '"'],
  [/[‐‑‒–—―−]|-+/g, "-"],
  [/-+/g, "-"],
  [/…/g, "..."],
];
const DIGITS = 8;
const COLUMNS = 66;

function trimmed(text) {
  return text.replace(SPACE, " ").replace(/^ +| +$/g, "");
}

/** Free text as an answer can carry it: one line, braces as parentheses. */
function plain(text) {
  const lines = text.normalize("NFC").replace(UNSEEN, "").split(BREAK).map(trimmed);
  return lines.filter(Boolean).join(" / ").replace(/\{/g, "(").replace(/\}/g, ")");
}

/** Free text without the differences that mail programs make. */
function folded(text) {
  return trimmed(FOLDS.reduce((all, [from, to]) => all.replace(from, to), plain(text).replace(LOST, "")));
}

/** CRC-32 of a text's UTF-8, as in zlib and ISO 3309. */
function crc32(text) {
  let crc = 0xffffffff;
  for (const byte of new TextEncoder().encode(text)) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = (crc >>> 1) ^ (crc & 1 ? 0xedb88320 : 0);
  }
  return ((crc ^ 0xffffffff) >>> 0).toString(16).padStart(8, "0");
}

function token(said) {
  return `${said.piece}.${said.digest.slice(0, DIGITS)}`;
}

function checkValue(answer) {
  const right = answer.pieces.filter((said) => said.right);
  const change = answer.pieces.filter((said) => !said.right);
  return crc32([
    folded(answer.order),
    ...right.map((said) => `+${said.piece}.${said.digest.slice(0, DIGITS).toLowerCase()}`),
    ...change.map((said) => `-${said.piece}.${said.digest.slice(0, DIGITS).toLowerCase()} ${folded(said.wish)}`),
    `=${folded(answer.note)}`,
  ].join("\n"));
}

/** The answer {order, note, pieces: [{piece, digest, right, wish}]} as text. */
function writeAnswer(answer) {
  const lines = [`ANSWER TO ORDER {${plain(answer.order)}}`];
  let line = "";
  for (const said of answer.pieces.filter((each) => each.right)) {
    if (line && [...line].length + [...token(said)].length < COLUMNS) {
      line += ` ${token(said)}`;
    } else {
      if (line) lines.push(line);
      line = `RIGHT ${token(said)}`;
    }
  }
  if (line) lines.push(line);
  for (const said of answer.pieces.filter((each) => !each.right)) {
    lines.push(`CHANGE ${token(said)} {${plain(said.wish)}}`);
  }
  if (plain(answer.note)) lines.push(`NOTE {${plain(answer.note)}}`);
  return [...lines, `CHECK ${checkValue(answer)}`, ""].join("\n");
}
