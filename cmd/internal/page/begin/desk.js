// The desk: the viewer beside a panel that edits the plan file. The server keeps the plan;
// this page shows what it says and sends what a person types.

const desk = { number: 0, shown: -1, ended: null, drawn: Promise.resolve() };

function trouble(text, hint) {
  element("trouble").hidden = !text;
  element("trouble-text").textContent = text || "";
  element("trouble-hint").textContent = hint || "";
}

// send posts to the desk and returns its answer; a fault is told, and null returned.
async function send(name, body, type = "application/json") {
  let answer;
  try {
    answer = await fetch(name, { method: "POST", headers: { "Content-Type": type }, body });
  } catch {
    trouble("The desk does not answer.", "Start farhail desk again and open the address that it prints.");
    return null;
  }
  const data = await answer.json().catch(() => ({ error: { text: "The desk gave no answer.", hint: "Load the page again." } }));
  if (answer.ok) {
    trouble();
    return data;
  }
  trouble(data.error.text, data.error.hint);
  if (data.error.kind === "behind") await refresh();
  return null;
}

// change posts a change of the plan that this page saw, and shows what came of it.
async function change(name, more = {}) {
  const state = await send(name, JSON.stringify({ number: desk.number, ...more }));
  if (state) showState(state);
  return Boolean(state);
}

async function refresh() {
  const answer = await fetch("state");
  if (answer.ok) showState(await answer.json());
  else location.reload(); // no plan any more, or none yet
}

function showState(state) {
  desk.number = state.number;
  document.title = state.file + " - farhail desk";
  element("file").textContent = state.file;
  element("text").textContent = state.text;
  for (const [id, what, word] of [["undo", state.undo, "Undo"], ["redo", state.redo, "Redo"]]) {
    element(id).disabled = !what;
    element(id).title = what ? `${word}: ${what}` : "";
  }
  element("faults").hidden = !state.faults.length;
  element("fault-list").replaceChildren(...state.faults.map((f) => item("li", f.hint ? `${f.text}: ${f.hint}` : f.text)));
  element("leg-part").hidden = !state.log;
  element("log").textContent = state.log;
  element("notes").replaceChildren(...state.notes.map((n) => item("li", n)).reverse());
  showFields(state.fields);
  if (state.changed) trouble("Another program changed the file.", "Reload takes what it wrote; until then nothing here is written.");
  showResult(state.result);
}

function item(kind, text) {
  const e = document.createElement(kind);
  e.textContent = text;
  return e;
}

// showFields fills the fields in; one that somebody types in keeps what is typed.
function showFields(fields) {
  const box = element("fields");
  const old = new Map([...box.querySelectorAll("input")].map((input) => [input.dataset.path, input]));
  box.replaceChildren(...fields.map((f) => {
    const input = old.get(f.path) || newField(f);
    if (input !== document.activeElement || input.value === input.dataset.was) input.value = f.value;
    input.dataset.was = f.value;
    input.parentElement.firstChild.textContent = f.title;
    return input.parentElement;
  }));
}

function newField(f) {
  const label = document.createElement("label"), input = document.createElement("input");
  label.className = "field";
  input.dataset.path = f.path;
  input.autocomplete = "off";
  input.addEventListener("change", async () => {
    const value = input.value.trim();
    if (value === input.dataset.was) return;
    const path = input.dataset.path;
    if (!await change("edit", { changes: [{ path, value: value === "" ? null : value }] })) input.focus();
  });
  label.append(document.createTextNode(f.title), input);
  return input;
}

function showResult(result) {
  const say = (text) => {
    element("status").textContent = text;
  };
  if (result.state === "working") say("Computing.");
  if (result.state === "failed") say("Not computed: " + result.fault.text + (result.fault.hint ? ". " + result.fault.hint : ""));
  if (result.state !== "done") return;
  say("Computed, up to date.");
  desk.drawn = desk.drawn.then(showMap); // one after the other
}

// showMap takes the newest map, and keeps what the old one showed.
async function showMap() {
  const answer = await fetch("viewer");
  if (!answer.ok) return;
  const number = Number(answer.headers.get("Farhail-Number"));
  const text = await answer.text();
  if (number === desk.shown) return;
  desk.shown = number;
  const old = window.farhail, frame = old && old.frame();
  const middle = old && !old.whole() && old.under(frame.width / 2, frame.height / 2);
  if (desk.ended) desk.ended.abort();
  desk.ended = new AbortController();
  // A document that is parsed runs nothing; its texts stay texts.
  element("viewer").replaceChildren(...new DOMParser().parseFromString(text, "text/html").body.children);
  try {
    await begin(desk.ended.signal);
    if (middle) window.farhail.look(middle.lon, middle.lat, frame.perPoint);
  } catch (fault) {
    trouble("This browser cannot show the map (" + fault.message + ").", "A browser of 2023 or later can.");
  }
}

element("undo").addEventListener("click", () => change("undo"));
element("redo").addEventListener("click", () => change("redo"));
element("reload").addEventListener("click", async () => {
  const state = await send("reload", "{}");
  if (state) showState(state);
});
element("leg-form").addEventListener("submit", async (e) => {
  e.preventDefault();
  if (await change("leg", { line: element("leg").value })) element("leg").value = "";
});
element("note-form").addEventListener("submit", async (e) => {
  e.preventDefault();
  const state = await send("note", JSON.stringify({ at: element("note-at").value.trim(), text: element("note").value }));
  if (!state) return;
  element("note").value = element("note-at").value = "";
  showState(state);
});
element("gpx").addEventListener("change", async () => {
  for (const file of element("gpx").files) {
    const kept = await send("upload?name=" + encodeURIComponent(file.name), file, "application/octet-stream");
    if (kept) element("gpx-said").textContent = `Kept as ${kept.name}: ${kept.tracks} tracks, ${kept.routes} routes, ${kept.waypoints} waypoints.`;
  }
  element("gpx").value = "";
});

// Events keep the windows in step. After a break the browser comes back by itself.
const events = new EventSource("events");
for (const name of ["hello", "edit", "note", "changed", "done", "failed", "made"]) events.addEventListener(name, () => refresh());
events.addEventListener("begun", () => showResult({ state: "working" }));
events.addEventListener("progress", (e) => {
  element("status").textContent = `Computing, ${JSON.parse(e.data).seconds} s.`;
});
events.addEventListener("error", () => {
  element("status").textContent = "The desk does not answer. It may have been stopped: what was typed is in the plan file.";
});
