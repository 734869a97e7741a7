// A clip's proxy, stepped picture by picture: aimed at the middle of a picture, believed when the browser says which it shows.
import type { Times } from "./review_data";

const PATIENCE_MS = 1500;

/** Place of the value nearest to `wanted` in increasing numbers. */
export function findNearest(numbers: readonly number[], wanted: number): number {
  let low = 0, high = numbers.length - 1;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (numbers[middle]! < wanted) low = middle + 1; else high = middle;
  }
  return low > 0 && wanted - numbers[low - 1]! < numbers[low]! - wanted ? low - 1 : low;
}

export class Stepper {
  /** The picture that the browser says it shows; -1 before the first. */
  shown = -1;
  private wanted = -1;
  private isSeeking = false;
  private lastStep_ms = 0;

  constructor(readonly video: HTMLVideoElement, private readonly times: Times, private readonly report: () => void) {}

  get count(): number { return this.times.seek_s.length; }
  get stepTime_ms(): number { return this.lastStep_ms; }

  /** Load the proxy; false where the browser shows no picture of it. */
  async open(address: string): Promise<boolean> {
    this.video.src = address;
    await new Promise<void>((resolve) => {
      this.video.addEventListener("loadeddata", () => resolve(), { once: true });
      this.video.addEventListener("error", () => resolve(), { once: true });
      setTimeout(resolve, 15000);
    });
    return this.video.videoWidth > 0;
  }

  /** Show a picture; a newer wish takes the place of one that is still on its way. */
  async show(picture: number): Promise<void> {
    this.wanted = Math.max(0, Math.min(this.count - 1, picture));
    if (this.isSeeking) return;
    this.isSeeking = true;
    try {
      while (this.shown !== this.wanted) {
        const aim = this.wanted;
        const began = performance.now();
        await this.seek(aim);
        this.lastStep_ms = performance.now() - began;
        this.shown = aim;
        this.report();
      }
    } finally { this.isSeeking = false; }
  }

  private seek(picture: number): Promise<void> {
    const target_s = this.times.seek_s[picture]!;
    return new Promise((resolve) => {
      const start = performance.now();
      const wait = (): void => {
        this.video.requestVideoFrameCallback((_, facts) => {
          const seen = findNearest(this.times.seek_s, facts.mediaTime + 0.5 * this.usual_s());
          if (Math.abs(seen - picture) === 0 || performance.now() - start > PATIENCE_MS) finish(); else wait();
        });
      };
      // The callback never comes where the picture stays the same, so a time limit stands beside it.
      const limit = setTimeout(() => finish(), PATIENCE_MS);
      const finish = (): void => { clearTimeout(limit); resolve(); };
      wait();
      this.video.currentTime = target_s;
    });
  }

  private usual_s(): number {
    const all = this.times.seek_s;
    return all.length > 1 ? (all[all.length - 1]! - all[0]!) / (all.length - 1) : 1 / 240;
  }
}
