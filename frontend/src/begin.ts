// Advice on passphrases and passwords while they are typed (the server alone decides), and a word while it works.
import { watchAdvice } from "./advice";

watchAdvice(document);

for (const form of document.querySelectorAll("form")) {
  form.addEventListener("submit", () => {
    const button = form.querySelector("button");
    if (!button) return;
    button.disabled = true;
    button.textContent = "Working, please wait";
  });
}
