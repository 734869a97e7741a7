// Runs on every page: htmx with the page's token, and the screen lock after a time without a touch.
import htmx from "htmx.org";
import { readToken } from "./token";
import { watchIdleness } from "./lock";

document.addEventListener("htmx:config:request", (event) => {
  const { ctx } = (event as CustomEvent).detail;
  ctx.request.headers["X-Elbowroom-Token"] = readToken();
});

// Kept reachable for other scripts of the page, which may add elements that htmx has to see.
Object.assign(window, { htmx });
watchIdleness();
