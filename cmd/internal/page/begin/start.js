"use strict";
// The start page: it makes a plan, and gives way to the desk.

const element = (id) => document.getElementById(id);

element("start").addEventListener("submit", async (e) => {
  e.preventDefault();
  const button = e.target.querySelector("button");
  button.disabled = true;
  try {
    const answer = await fetch("make", {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify({ kind: new FormData(e.target).get("kind"), place: element("place").value.trim(), at: element("at").value.trim(), name: element("name").value.trim() }),
    });
    if (answer.ok) {
      location.reload();
      return;
    }
    const { error } = await answer.json();
    trouble(error.text, error.hint);
  } catch {
    trouble("The desk does not answer.", "Start farhail desk again and open the address that it prints.");
  }
  button.disabled = false;
});

function trouble(text, hint) {
  element("trouble").hidden = false;
  element("trouble-text").textContent = text;
  element("trouble-hint").textContent = hint || "";
}
