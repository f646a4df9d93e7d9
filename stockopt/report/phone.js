"use strict";
// Ticks are kept on this device only, under a key of this very plan: another plan starts unticked.
const key = "stockopt " + document.body.dataset.plan;
let ticked = new Set();
try { ticked = new Set(JSON.parse(localStorage.getItem(key)) || []); } catch { /* none kept */ }
const lines = [...document.querySelectorAll("li")];

function show(line) {
  const done = ticked.has(line.id);
  line.classList.toggle("done", done);
  line.setAttribute("aria-checked", String(done));
}

function toggle(line) {
  if (!ticked.delete(line.id)) ticked.add(line.id);
  show(line);
  try { localStorage.setItem(key, JSON.stringify([...ticked])); } catch { /* not kept, still shown */ }
}

lines.forEach((line, number) => {
  if (line.classList.contains("plain")) return;
  line.id = "line" + number;
  line.tabIndex = 0;
  line.setAttribute("role", "checkbox");
  show(line);
  line.addEventListener("click", () => toggle(line));
  line.addEventListener("keydown", (event) => {
    if (event.key !== " " && event.key !== "Enter") return;
    event.preventDefault();
    toggle(line);
  });
});

const search = document.querySelector("nav input");
const count = document.getElementById("count");
search.addEventListener("input", () => {
  const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
  let found = 0;
  for (const line of lines) {
    const text = line.textContent.toLowerCase();
    line.hidden = !words.every((word) => text.includes(word));
    found += line.hidden ? 0 : 1;
  }
  for (const part of document.querySelectorAll("section, section > div")) {
    const inside = part.querySelectorAll("li");
    part.hidden = words.length > 0 && ![...inside].some((line) => !line.hidden);
  }
  count.textContent = words.length ? found + (found === 1 ? " line" : " lines") + " found" : "";
});
