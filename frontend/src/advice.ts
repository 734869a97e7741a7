// What to say of a passphrase while it is typed. It says nothing of how it is spelt, only of length and variety.

const SHORTEST = 12;
const GOOD = 24;
const FEWEST_LETTERS = 5;
const WORDS_OF_A_GOOD_ONE = 5;

/** Show advice beside every field that names a place for it in `data-advice`. */
export function watchAdvice(root: ParentNode): void {
  for (const field of root.querySelectorAll<HTMLInputElement>("input[data-advice]")) {
    const place = document.getElementById(field.dataset.advice ?? "");
    if (place) field.addEventListener("input", () => (place.textContent = advise(field.value)));
  }
}

/** One sentence on a passphrase as far as it is typed. */
export function advise(text: string): string {
  const missing = SHORTEST - [...text].length;
  if (!text) return "";
  if (missing > 0) return `${missing} more ${missing === 1 ? "character" : "characters"} at least.`;
  if (new Set(text.toLowerCase()).size < FEWEST_LETTERS) return "It repeats the same few characters: take unrelated words.";
  const words = text.trim().split(/[\s\-_.,]+/).length;
  if (words >= WORDS_OF_A_GOOD_ONE || text.length >= GOOD) return "Long enough; what counts now is that nobody could guess the words.";
  return "It will be taken; another unrelated word or two makes it far stronger.";
}
