// The page's words, and the small things that every part of it needs.
export const data = JSON.parse(document.getElementById("data").textContent);

/** A sentence with its gaps filled; a number called `count` chooses between `one` and `other`. */
export function say(key, gaps = {}) {
  const entry = data.words[key];
  const text = typeof entry === "string" ? entry : gaps.count === 1 ? entry.one : entry.other;
  return text.replace(/\{(\w+)\}/g, (_, name) => String(gaps[name]));
}

/** Names as the language lists them. */
export function listed(names, most = names.length) {
  if (names.length > most) return say("more-failures", { failures: names.slice(0, most).join(", "), count: names.length - most });
  if (names.length < 2) return names.join("");
  return say("and", { first: names.slice(0, -1).join(", "), last: names[names.length - 1] });
}

/** Several of which each alone is enough. */
export function either(names, most = names.length) {
  if (names.length > most) return say("or-more", { failures: names.slice(0, most).join(", "), count: names.length - most });
  if (names.length < 2) return names.join("");
  return say("or", { first: names.slice(0, -1).join(", "), last: names[names.length - 1] });
}

export const $ = (id) => document.getElementById(id);

/** An element with words in it (never markup) or with others. */
export function make(tag, words = "", look = "", more = {}) {
  const made = document.createElement(tag);
  if (Array.isArray(words)) made.append(...words);
  else made.textContent = words;
  if (look) made.className = look;
  for (const [name, value] of Object.entries(more)) made.setAttribute(name, value);
  return made;
}

export function button(words, pressed, look = "", more = {}) {
  const made = make("button", words, look, { type: "button", ...more });
  made.addEventListener("click", pressed);
  return made;
}

/** Arrows go from button to button in a toolbar; Tab goes past it. */
export function toolbar(bar) {
  bar.addEventListener("keydown", (event) => {
    const all = [...bar.querySelectorAll("button:not(:disabled)")];
    const at = all.indexOf(document.activeElement);
    if (at < 0) return;
    const to = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0, End: all.length - 1 }[event.key];
    if (to === undefined) return;
    const next = all[(to + all.length) % all.length];
    for (const one of all) one.tabIndex = one === next ? 0 : -1;
    next.focus();
    event.preventDefault();
  });
}
