// The figure in space, turned by keys, buttons or dragging.
import {
  BufferAttribute, BufferGeometry, GridHelper, LineBasicMaterial, LineSegments, PerspectiveCamera, Points, PointsMaterial, Scene,
  WebGLRenderer,
} from "three";
import type { Throw } from "./review_data";
import { findNearest } from "./review_video";

export class Figure {
  private scene = new Scene();
  private camera = new PerspectiveCamera(35, 1, 0.1, 50);
  private renderer: WebGLRenderer | null = null;
  private lines = new LineSegments(new BufferGeometry(), new LineBasicMaterial({ color: 0x1d2421 }));
  private points = new Points(new BufferGeometry(), new PointsMaterial({ color: 0x9a3412, size: 5, sizeAttenuation: false }));
  private motion: Throw["motion"] | null = null;
  private angle_rad = -1.2;
  private height_rad = 0.25;

  constructor(private readonly canvas: HTMLCanvasElement, private readonly bones: [number, number][]) {
    try {
      this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    } catch {
      canvas.setAttribute("aria-label", "This browser cannot draw the figure in space.");
      return;
    }
    const grid = new GridHelper(4, 8, 0x8a8574, 0xc9c4b6);
    grid.rotation.x = Math.PI / 2;
    // The bounds of the first pose would hide the later ones.
    this.lines.frustumCulled = this.points.frustumCulled = false;
    this.scene.add(grid, this.lines, this.points);
    this.listen();
    new ResizeObserver(() => this.render()).observe(canvas);
  }

  open(motion: Throw["motion"]): void { this.motion = motion; }

  turn(side_rad: number, up_rad: number): void {
    this.angle_rad += side_rad;
    this.height_rad = Math.max(-0.2, Math.min(1.5, this.height_rad + up_rad));
    this.render();
  }

  show(time_s: number): void {
    if (!this.motion || !this.renderer) return;
    const places = this.motion.joints_m[findNearest(this.motion.times_s, time_s)]!;
    const ends = new Float32Array(this.bones.flatMap(([first, second]) => [...places[first]!, ...places[second]!]));
    // The neck and the shoulders are no bones of the reconstruction; they are drawn so that the figure reads as one.
    const trunk = [[1, 5], [1, 9], [5, 14], [0, 1], [0, 5]] as const;
    const more = new Float32Array(trunk.flatMap(([first, second]) => [...places[first]!, ...places[second]!]));
    const all = new Float32Array(ends.length + more.length);
    all.set(ends); all.set(more, ends.length);
    this.lines.geometry.setAttribute("position", new BufferAttribute(all, 3));
    this.points.geometry.setAttribute("position", new BufferAttribute(new Float32Array(places.flat()), 3));
    this.render();
  }

  private render(): void {
    if (!this.renderer) return;
    const [wide, high] = [this.canvas.clientWidth, this.canvas.clientHeight];
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    this.renderer.setSize(wide, high, false);
    this.camera.aspect = wide / Math.max(high, 1);
    const far = 4.6, flat = far * Math.cos(this.height_rad);
    this.camera.up.set(0, 0, 1);
    this.camera.position.set(0.5 + flat * Math.cos(this.angle_rad), flat * Math.sin(this.angle_rad), 0.9 + far * Math.sin(this.height_rad));
    this.camera.lookAt(0.5, 0, 0.9);
    this.camera.updateProjectionMatrix();
    this.renderer.render(this.scene, this.camera);
  }

  private listen(): void {
    let last: [number, number] | null = null;
    this.canvas.addEventListener("pointerdown", (event) => { last = [event.clientX, event.clientY]; this.canvas.setPointerCapture(event.pointerId); });
    this.canvas.addEventListener("pointermove", (event) => {
      if (!last) return;
      this.turn(-(event.clientX - last[0]) * 0.01, (event.clientY - last[1]) * 0.01);
      last = [event.clientX, event.clientY];
    });
    this.canvas.addEventListener("pointerup", () => { last = null; });
  }
}
