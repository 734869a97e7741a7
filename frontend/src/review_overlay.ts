// The skeleton over a clip's picture: drawn, picked and dragged. The canvas is bound to the displayed box of the video.
import type { Clip } from "./review_data";

export type Place = [number, number];
const REACH_PX = 18;

export class Overlay {
  private joints: Place[] = [];
  private picked = -1;
  private moved: Place | null = null;
  private placed = new Set<number>();
  private context: CanvasRenderingContext2D;
  /** Called when a joint was picked (-1: none) or moved by the pointer; `isDone` at the end of a drag. */
  onPick: (joint: number) => void = () => undefined;
  onMove: (place: Place, isDone: boolean) => void = () => undefined;

  constructor(
    private readonly canvas: HTMLCanvasElement, private readonly video: HTMLVideoElement, private readonly clip: Clip,
    private readonly bones: [number, number][], private readonly throwing: Set<number>,
  ) {
    this.context = canvas.getContext("2d")!;
    new ResizeObserver(() => this.fit()).observe(video);
    this.listen();
    this.fit();
  }

  /** Lay the canvas on the picture of the video, whatever room the page gives it. */
  fit(): void {
    const [wide, high] = this.clip.size_px;
    const box = this.video.getBoundingClientRect();
    if (!box.width) return;
    if (!this.video.videoWidth) this.video.style.aspectRatio = `${wide} / ${high}`;
    const scale = Math.min(this.video.clientWidth / wide, this.video.clientHeight / high);
    const width = wide * scale, height = high * scale;
    this.canvas.style.left = `${this.video.offsetLeft + (this.video.clientWidth - width) / 2}px`;
    this.canvas.style.top = `${this.video.offsetTop + (this.video.clientHeight - height) / 2}px`;
    this.canvas.style.width = `${width}px`;
    this.canvas.style.height = `${height}px`;
    const ratio = window.devicePixelRatio || 1;
    this.canvas.width = Math.round(width * ratio);
    this.canvas.height = Math.round(height * ratio);
    this.draw();
  }

  show(joints: Place[], placed: number[]): void {
    this.joints = joints;
    this.placed = new Set(placed);
    this.draw();
  }

  pick(joint: number): void { this.picked = joint; this.moved = null; this.draw(); }
  move(place: Place | null): void { this.moved = place; this.draw(); }

  /** Where a pixel of the clip lies on the screen, in pixels of the canvas's box. */
  locate(place: Place): Place {
    const scale = this.canvas.clientWidth / this.clip.size_px[0];
    return [(place[0] + 0.5) * scale, (place[1] + 0.5) * scale];
  }

  draw(): void {
    const c = this.context, ratio = this.canvas.width / Math.max(this.canvas.clientWidth, 1);
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    c.clearRect(0, 0, this.canvas.width, this.canvas.height);
    if (!this.joints.length) return;
    const places = this.joints.map((place, joint) => this.locate(joint === this.picked && this.moved ? this.moved : place));
    for (const edge of [5, 2.5]) {
      for (const [first, second] of this.bones) {
        const [a, b] = [places[first]!, places[second]!];
        c.strokeStyle = edge === 5 ? "#10161a" : this.throwing.has(first) && this.throwing.has(second) ? "#ffb74d" : "#f4f7f5";
        c.lineWidth = edge;
        c.beginPath(); c.moveTo(a[0], a[1]); c.lineTo(b[0], b[1]); c.stroke();
      }
    }
    places.forEach((place, joint) => this.drawJoint(place, joint));
  }

  private drawJoint(place: Place, joint: number): void {
    const c = this.context, isPicked = joint === this.picked;
    c.lineWidth = 2; c.strokeStyle = "#10161a"; c.fillStyle = isPicked ? "#ff5a36" : "#ffffff";
    c.beginPath();
    // A square says: placed by hand. A ring about it says: picked.
    if (this.placed.has(joint)) c.rect(place[0] - 4, place[1] - 4, 8, 8); else c.arc(place[0], place[1], isPicked ? 5 : 3.5, 0, 7);
    c.fill(); c.stroke();
    if (isPicked) { c.strokeStyle = "#ff5a36"; c.beginPath(); c.arc(place[0], place[1], 11, 0, 7); c.stroke(); }
  }

  private find(event: PointerEvent): Place {
    const box = this.canvas.getBoundingClientRect(), scale = this.clip.size_px[0] / box.width;
    return [(event.clientX - box.left) * scale - 0.5, (event.clientY - box.top) * scale - 0.5];
  }

  private listen(): void {
    let isDragging = false;
    this.canvas.addEventListener("pointerdown", (event) => {
      const at = this.find(event), reach = REACH_PX * (this.clip.size_px[0] / this.canvas.clientWidth);
      const gaps = this.joints.map((place) => Math.hypot(place[0] - at[0], place[1] - at[1]));
      const nearest = gaps.indexOf(Math.min(...gaps));
      if (nearest < 0 || gaps[nearest]! > reach) { this.onPick(-1); return; }
      isDragging = true;
      this.canvas.setPointerCapture(event.pointerId);
      this.onPick(nearest);
    });
    this.canvas.addEventListener("pointermove", (event) => {
      if (isDragging) { this.moved = this.find(event); this.draw(); this.onMove(this.moved, false); }
    });
    this.canvas.addEventListener("pointerup", () => {
      if (isDragging && this.moved) this.onMove(this.moved, true);
      isDragging = false;
    });
  }
}
