
"use strict";
{
  const text = document.getElementById("found");
  const save = document.getElementById("save");
  const choices = [...document.querySelectorAll("select")];
  let own = "";
  const told = () => [text.dataset.head, ...choices.map((one) => one.value).filter(Boolean), own].join("\n").trimEnd() + "\n";
  const put = () => {
    save.href = "data:text/plain;charset=utf-8," + encodeURIComponent(text.value);
  };
  const chosen = () => {
    text.value = told();
    put();
  };
  text.addEventListener("input", () => {
    const known = new Set([...text.dataset.head.split("\n"), ...choices.map((one) => one.value)]);
    own = text.value.split("\n").filter((line) => !known.has(line)).join("\n");
    put();
  });
  for (const one of choices) one.addEventListener("change", chosen);
  for (const one of document.querySelectorAll(".screen")) one.hidden = false;
  chosen();
}
