// The filming page: clips in by choosing, dropping or recording, each with its progress, and the board kept up to date.
import { Camera } from "./recorder";
import { Upload } from "./upload";

function find<T extends HTMLElement>(id: string): T {
  const element = document.getElementById(id);
  if (!element) throw new Error(`The page lacks ${id}.`);
  return element as T;
}

const intake = find<HTMLElement>("intake");
const list = find<HTMLUListElement>("uploads");
const running = new Set<Upload>();

function say(words: string): void {
  find<HTMLElement>("upload-news").textContent = words;
}

function refreshBoard(): void {
  find<HTMLElement>("board").dispatchEvent(new Event("board-changed", { bubbles: true }));
}

function makeButton(words: string, name: string): HTMLButtonElement {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "plain";
  button.textContent = words;
  button.setAttribute("aria-label", `${words}: ${name}`);
  return button;
}

async function sendFile(file: File): Promise<void> {
  const view = find<HTMLSelectElement>("view").value;
  const shows = find<HTMLSelectElement>("shows").value;
  const item = document.createElement("li");
  const title = document.createElement("p");
  title.textContent = `${file.name}, ${view}${shows === "board" ? ", board" : ""}`;
  const words = document.createElement("p");
  const bar = document.createElement("progress");
  bar.max = 1;
  bar.setAttribute("aria-label", `How much of ${file.name} has arrived`);
  const buttons = document.createElement("div");
  buttons.className = "row";
  const pause = makeButton("Pause", file.name);
  const cancel = makeButton("Cancel", file.name);
  buttons.append(pause, cancel);
  item.append(title, bar, words, buttons);
  list.append(item);

  const upload = new Upload(file, intake.dataset["visit"]!, view, shows, Number(intake.dataset["pieceBytes"]), (news, share) => {
    words.textContent = news;
    bar.value = share;
  });
  running.add(upload);
  let isPaused = false;
  pause.addEventListener("click", () => {
    isPaused = !isPaused;
    pause.textContent = isPaused ? "Go on" : "Pause";
    pause.setAttribute("aria-label", `${pause.textContent}: ${file.name}`);
    if (isPaused) upload.pause();
    else upload.resume();
  });
  cancel.addEventListener("click", () => void upload.cancel());
  try {
    const hasArrived = await upload.run();
    item.remove();
    say(hasArrived ? `${file.name} has arrived.` : `${file.name} was cancelled.`);
  } catch (error) {
    words.className = "problem";
    words.textContent = error instanceof Error ? error.message : String(error);
    say(`${file.name}: ${words.textContent}`);
    pause.remove();
    cancel.textContent = "Dismiss";
    cancel.addEventListener("click", () => item.remove());
  }
  running.delete(upload);
  refreshBoard();
}

function sendAll(files: Iterable<File>): void {
  for (const file of files) void sendFile(file);
}

const chooser = find<HTMLInputElement>("file");
chooser.addEventListener("change", () => {
  sendAll(Array.from(chooser.files ?? []));
  chooser.value = "";
});

const drop = find<HTMLElement>("drop");
for (const kind of ["dragenter", "dragover"]) {
  drop.addEventListener(kind, (event) => {
    event.preventDefault();
    drop.classList.add("over");
  });
}
drop.addEventListener("dragleave", () => drop.classList.remove("over"));
drop.addEventListener("drop", (event) => {
  event.preventDefault();
  drop.classList.remove("over");
  sendAll(Array.from(event.dataTransfer?.files ?? []));
});

window.addEventListener("beforeunload", (event) => {
  if (running.size) event.preventDefault();
});

const camera = new Camera(find<HTMLVideoElement>("preview"));
const record = find<HTMLButtonElement>("camera-record");
const close = find<HTMLButtonElement>("camera-close");
const rate = find<HTMLElement>("camera-rate");
find<HTMLButtonElement>("camera-open").addEventListener("click", async () => {
  try {
    rate.textContent = await camera.open();
    record.hidden = close.hidden = false;
  } catch (error) {
    rate.textContent = `The camera cannot be used: ${error instanceof Error ? error.message : String(error)}`;
  }
});
record.addEventListener("click", () => {
  if (camera.isRecording) camera.end();
  else camera.begin((file) => void sendFile(file));
  record.textContent = camera.isRecording ? "Stop" : "Record";
});
close.addEventListener("click", () => {
  camera.close();
  record.hidden = close.hidden = true;
  record.textContent = "Record";
  rate.textContent = "";
});

// A form that somebody fills in on the board is not swapped away under their hands.
find<HTMLElement>("board").addEventListener("htmx:before:request", (event) => {
  const board = event.currentTarget as HTMLElement;
  if (board.querySelector("details[open]") || board.contains(document.activeElement)) event.preventDefault();
});
