// One measure over time with its interval, the instants, and the common cursor.
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import type { Curve, Instant } from "./review_data";
import { findNearest } from "./review_video";

export class Curves {
  private plot: uPlot | null = null;
  private curves: Curve[] = [];
  private instants: Instant[] = [];
  private time_s = 0;
  /** Called when somebody clicks on the plot. */
  onTime: (time_s: number) => void = () => undefined;

  constructor(private readonly home: HTMLElement, private readonly choice: HTMLSelectElement, private readonly words: HTMLElement) {
    choice.addEventListener("change", () => this.render());
    new ResizeObserver(() => this.plot?.setSize({ width: home.clientWidth, height: 260 })).observe(home);
  }

  open(curves: Curve[], instants: Instant[]): void {
    const before = this.choice.value;
    this.curves = curves; this.instants = instants;
    this.choice.replaceChildren(...curves.map((curve) => new Option(curve.words, curve.key)));
    if (curves.some((curve) => curve.key === before)) this.choice.value = before;
    this.render();
  }

  show(time_s: number): void {
    this.time_s = time_s;
    this.plot?.redraw(false);
    const curve = this.find();
    if (!curve) { this.words.textContent = "No curve: contact or release was not found."; return; }
    const at = findNearest(curve.times_s, time_s), value = curve.values[at], half = curve.half_widths[at];
    const isInside = time_s >= curve.times_s[0]! - 0.01 && time_s <= curve.times_s[curve.times_s.length - 1]! + 0.01;
    this.words.textContent = !isInside || value == null ? `${curve.words}: no value at this picture.`
      : `${curve.words}: ${value.toFixed(curve.unit ? 0 : 2)} ${curve.unit}, give or take ${(half ?? 0).toFixed(curve.unit ? 0 : 2)} (95 %); ${curve.sign}.`;
  }

  private find(): Curve | undefined { return this.curves.find((curve) => curve.key === this.choice.value) ?? this.curves[0]; }

  private render(): void {
    this.plot?.destroy(); this.plot = null;
    const curve = this.find();
    if (!curve) { this.show(this.time_s); return; }
    const low = curve.values.map((value, i) => (value == null ? null : value - (curve.half_widths[i] ?? 0)));
    const high = curve.values.map((value, i) => (value == null ? null : value + (curve.half_widths[i] ?? 0)));
    this.plot = new uPlot({
      width: Math.max(this.home.clientWidth, 200), height: 260, legend: { show: false },
      cursor: { drag: { x: false, y: false } },
      scales: { x: { time: false } },
      axes: [{ label: "seconds on the visit's clock", size: 44 }, { label: `${curve.words} ${curve.unit}`.trim(), size: 60 }],
      series: [{}, { stroke: "#1f4b3f", width: 2 }, { stroke: "transparent" }, { stroke: "transparent" }],
      bands: [{ series: [3, 2], fill: "rgba(31,75,63,.18)" }],
      hooks: { draw: [(plot) => this.drawLines(plot)] },
    }, [curve.times_s, curve.values, low, high] as uPlot.AlignedData, this.home);
    this.plot.over.addEventListener("click", (event) => this.onTime(this.plot!.posToVal(event.offsetX, "x")));
    this.show(this.time_s);
  }

  private drawLines(plot: uPlot): void {
    const { ctx } = plot, { left, top, width, height } = plot.bbox;
    const line = (time_s: number, colour: string, dash: number[], words: string): void => {
      const x = plot.valToPos(time_s, "x", true);
      if (x < left || x > left + width) return;
      ctx.save(); ctx.strokeStyle = colour; ctx.fillStyle = colour; ctx.setLineDash(dash); ctx.lineWidth = 1.5;
      ctx.beginPath(); ctx.moveTo(x, top); ctx.lineTo(x, top + height); ctx.stroke();
      ctx.font = "12px sans-serif"; ctx.fillText(words, x + 3, top + 12); ctx.restore();
    };
    for (const instant of this.instants) if (instant.time.value !== undefined) line(instant.time.value, "#6d746f", [4, 4], instant.name);
    line(this.time_s, "#b35c00", [], "");
  }
}
