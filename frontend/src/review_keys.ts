// Everything by keys. A form control that has the focus keeps its own keys.

export interface Acts {
  step(pictures: number): void; goEnd(isLast: boolean): void; play(): void; loop(): void; changeSpeed(by: number): void;
  goInstant(number: number): void; nextClip(): void; changeThrow(by: number): void; nextJoint(by: number): void;
  moveJoint(x: number, y: number): boolean; keepJoint(): void; leaveJoint(): void; moveInstant(): void; drop(): void; undo(): void;
  turn(by: number): void; help(): void;
}

const OWN_KEYS = new Set(["INPUT", "SELECT", "TEXTAREA", "BUTTON", "SUMMARY", "A"]);
const ARROWS: Record<string, [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function isControl(target: EventTarget | null, key: string): boolean {
  if (!(target instanceof HTMLElement) || !OWN_KEYS.has(target.tagName)) return false;
  // A button and a link take only Space and Enter; whatever is typed into takes every key.
  return target.tagName === "BUTTON" || target.tagName === "A" || target.tagName === "SUMMARY" ? key === " " || key === "Enter" : true;
}

export function listen(acts: Acts): void {
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || isControl(event.target, event.key)) return;
    if (take(event, acts)) event.preventDefault();
  });
}

function take(event: KeyboardEvent, acts: Acts): boolean {
  const many = event.shiftKey ? 10 : 1, arrow = ARROWS[event.key];
  if (arrow && acts.moveJoint(arrow[0] * many, arrow[1] * many)) return true;
  if (/^[1-6]$/.test(event.key)) { acts.goInstant(Number(event.key) - 1); return true; }
  const table: Record<string, () => void> = {
    ArrowLeft: () => acts.step(-many), ArrowRight: () => acts.step(many), Home: () => acts.goEnd(false), End: () => acts.goEnd(true),
    " ": () => acts.play(), ",": () => acts.changeSpeed(-1), ".": () => acts.changeSpeed(1), o: () => acts.loop(),
    v: () => acts.nextClip(), n: () => acts.changeThrow(1), p: () => acts.changeThrow(-1), j: () => acts.nextJoint(event.shiftKey ? -1 : 1),
    Enter: () => acts.keepJoint(), Escape: () => acts.leaveJoint(), m: () => acts.moveInstant(), d: () => acts.drop(), u: () => acts.undo(),
    a: () => acts.turn(-0.2), b: () => acts.turn(0.2), h: () => acts.help(),
  };
  const act = table[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  act?.();
  return act !== undefined;
}
