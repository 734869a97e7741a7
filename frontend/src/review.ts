// The review of a visit: clips in step, skeleton, instants, curves, figure, and corrections.
import { showChange } from "./review_change";
import { Curves } from "./review_curves";
import { type Instant, type Member, Problem, Source, type Taken, type Throw, type Visit } from "./review_data";
import { Figure } from "./review_figure";
import { type Acts, listen } from "./review_keys";
import { Overlay, type Place } from "./review_overlay";
import { findNearest, Stepper } from "./review_video";

const home = document.getElementById("review")!;
const source = new Source(`/visits/${home.dataset.visit}/review`);
const find = <T extends HTMLElement>(id: string): T => document.getElementById(id) as T;
const say = (words: string): void => { find("state").textContent = words; };
const ORDER = ["lift", "hands apart", "foot contact", "layback", "release", "finish"];

class Review implements Acts {
  private visit!: Visit;
  private throw!: Throw;
  private steppers = new Map<number, Stepper>();
  private overlays = new Map<number, Overlay>();
  private figure!: Figure;
  private curves!: Curves;
  private clip = 0;
  private time_s = 0;
  private joint = -1;
  private moved: Place | null = null;
  private undoes: { kind: string; throw: number; after: object }[] = [];
  private timer = 0;
  private span_s: [number, number] | null = null;
  private renewing: Promise<void> = Promise.resolve();

  async open(): Promise<void> {
    this.visit = await source.fetchVisit();
    this.figure = new Figure(find("figure"), this.visit.bones);
    this.curves = new Curves(find("plot"), find("curve"), find("at-cursor"));
    this.curves.onTime = (time_s) => this.go(time_s);
    const throwing = new Set([1, 2, 3, 4]);
    for (const clip of this.visit.clips) {
      const video = find<HTMLVideoElement>(`video-${clip.number}`);
      const overlay = new Overlay(find(`overlay-${clip.number}`), video, clip, this.visit.bones, throwing);
      overlay.onPick = (joint) => { this.choose(clip.number); this.pick(joint); };
      overlay.onMove = (place, isDone) => { this.moved = place; if (isDone) void this.keepJoint(); };
      this.overlays.set(clip.number, overlay);
    }
    const joints = document.getElementById("joint");
    joints?.append(...this.visit.joints.map((name, number) => new Option(name, String(number))));
    this.bind();
    listen(this);
    await this.load(this.visit.throws[0]!);
    await Promise.all(this.visit.clips.filter((clip) => clip.has_proxy).map((clip) => this.openClip(clip.number)));
    this.go(this.time_s);
    say(`Ready. Throw ${this.throw.number} of ${this.visit.throws.length}. H lists the keys.`);
    home.dataset.ready = "yes";
  }

  private async openClip(number: number): Promise<void> {
    const video = find<HTMLVideoElement>(`video-${number}`);
    const stepper = new Stepper(video, await source.fetchTimes(number), () => this.draw(number));
    if (await stepper.open(source.nameProxy(number))) this.steppers.set(number, stepper);
    else this.complain(`The browser shows no picture of clip ${number + 1}: its proxy may be damaged.`);
    this.overlays.get(number)!.fit();
  }

  private async load(number: number): Promise<void> {
    this.throw = await source.fetchThrow(number);
    this.visit.version = this.throw.version;
    find<HTMLSelectElement>("throw").value = String(number);
    if (!this.member) this.clip = this.throw.members[0]!.clip;
    this.figure.open(this.throw.motion);
    this.curves.open(this.throw.curves, this.throw.instants);
    this.setLine();
    const [first, last] = this.ends;
    if (this.time_s < first || this.time_s > last) this.time_s = this.find("foot contact")?.time.value ?? first;
    this.go(this.time_s);
  }

  private get member(): Member | undefined { return this.throw.members.find((member) => member.clip === this.clip); }
  private get ends(): [number, number] { const t = this.member!.times_s; return [t[0]!, t[t.length - 1]!]; }
  private find(name: string): Instant | undefined { return this.throw.instants.find((instant) => instant.name === name); }
  private get place(): number { return findNearest(this.member!.times_s, this.time_s); }

  /** Show a moment everywhere: the nearest picture of every clip, curves, figure, time line. */
  go(time_s: number): void {
    const [first, last] = this.ends;
    this.time_s = Math.max(first, Math.min(last, time_s));
    for (const member of this.throw.members) {
      const picture = member.first_picture + findNearest(member.times_s, this.time_s);
      const stepper = this.steppers.get(member.clip);
      if (stepper) void stepper.show(picture); else this.draw(member.clip);
    }
    this.curves.show(this.time_s);
    this.figure.show(this.time_s);
    const slider = find<HTMLInputElement>("time");
    slider.value = String(this.place);
    slider.setAttribute("aria-valuetext", `picture ${this.member!.first_picture + this.place}, ${this.time_s.toFixed(4)} s`);
  }

  /** Draw the skeleton of the picture that the clip shows. */
  private draw(clip: number): void {
    const member = this.throw.members.find((item) => item.clip === clip), overlay = this.overlays.get(clip)!;
    if (!member) { overlay.show([], []); return; }
    const shown = this.steppers.get(clip)?.shown ?? member.first_picture + findNearest(member.times_s, this.time_s);
    const joints = member.joints_px[shown - member.first_picture];
    overlay.show(joints ?? [], member.placed.filter(([picture]) => picture === shown).map(([, joint]) => joint));
    find(`picture-${clip}`).textContent = `picture ${shown}`;
  }

  private setLine(): void {
    const member = this.member!, slider = find<HTMLInputElement>("time"), [first, last] = this.ends;
    slider.max = String(member.times_s.length - 1);
    const known = this.throw.instants.filter((instant) => instant.time.value !== undefined);
    find("marks").replaceChildren(...known.map((instant) => {
      const mark = document.createElement("button");
      mark.type = "button"; mark.className = "plain";
      mark.textContent = `${instant.name}${instant.by_hand ? " (by hand)" : ""}`;
      mark.title = `${instant.time.value!.toFixed(3)} s, give or take ${(instant.time.half_width ?? 0).toFixed(3)} (95 %)`;
      mark.style.left = `${(100 * (instant.time.value! - first)) / (last - first)}%`;
      mark.addEventListener("click", () => { this.go(instant.time.value!); this.chooseInstant(instant.name); });
      return mark;
    }));
    const choice = document.getElementById("instant") as HTMLSelectElement | null;
    const before = choice?.value;
    choice?.replaceChildren(...this.throw.instants.map((instant) => new Option(
      instant.time.value === undefined ? `${instant.name} (not found)` : instant.name, instant.name)));
    if (choice && before) choice.value = before;
  }

  private chooseInstant(name: string): void {
    const choice = document.getElementById("instant") as HTMLSelectElement | null;
    if (choice) choice.value = name;
  }

  private choose(clip: number): void {
    if (clip === this.clip || !this.throw.members.some((member) => member.clip === clip)) return;
    this.leaveJoint();
    this.clip = clip;
    for (const button of document.querySelectorAll<HTMLElement>("[data-choose]"))
      button.setAttribute("aria-pressed", String(Number(button.dataset.choose) === clip));
    this.setLine();
    this.go(this.time_s);
    say(`Clip ${clip + 1} chosen.`);
  }

  private pick(joint: number): void {
    this.joint = joint; this.moved = null;
    for (const [clip, overlay] of this.overlays) overlay.pick(clip === this.clip ? joint : -1);
    const choice = document.getElementById("joint") as HTMLSelectElement | null;
    if (choice) choice.value = joint < 0 ? "" : String(joint);
    for (const id of ["keep-joint", "leave-joint"]) (document.getElementById(id) as HTMLButtonElement | null)?.toggleAttribute("disabled", joint < 0);
    if (joint >= 0) say(`${this.visit.joints[joint]} picked. The arrow keys move it, Enter keeps it, Escape lets go.`);
  }

  step(pictures: number): void {
    this.stop();
    const at = this.place + pictures, times = this.member!.times_s;
    this.go(times[Math.max(0, Math.min(times.length - 1, at))]!);
    if (this.joint >= 0) this.pick(this.joint);
  }
  goEnd(isLast: boolean): void { this.stop(); this.go(this.ends[isLast ? 1 : 0]); }
  goInstant(number: number): void {
    const name = ORDER[number]!, time_s = this.find(name)?.time.value;
    this.chooseInstant(name);
    if (time_s === undefined) say(`${name} was not found in this throw.`); else { this.stop(); this.go(time_s); say(`${name}.`); }
  }
  nextClip(): void {
    const clips = this.throw.members.map((member) => member.clip);
    this.choose(clips[(clips.indexOf(this.clip) + 1) % clips.length]!);
  }
  changeThrow(by: number): void {
    const all = this.visit.throws, at = all.indexOf(this.throw.number) + by;
    if (all[at] !== undefined) { this.leaveJoint(); this.stop(); void this.load(all[at]!).then(() => say(`Throw ${all[at]}.`)); }
  }
  nextJoint(by: number): void {
    const count = this.visit.joints.length;
    this.pick(this.joint < 0 ? (by > 0 ? 0 : count - 1) : (this.joint + by + count) % count);
  }
  moveJoint(x: number, y: number): boolean {
    const member = this.member!, joints = member.joints_px[this.place];
    if (this.joint < 0 || !joints || !this.mayCorrect) return false;
    const from = this.moved ?? joints[this.joint]!;
    this.moved = [from[0] + x, from[1] + y];
    this.overlays.get(this.clip)!.move(this.moved);
    say(`${this.visit.joints[this.joint]} at ${this.moved[0].toFixed(0)}, ${this.moved[1].toFixed(0)}.`);
    return true;
  }
  leaveJoint(): void { this.pick(-1); }
  turn(by: number): void { this.figure.turn(by, 0); }
  help(): void {
    const list = find("keys"), button = find("help");
    list.hidden = !list.hidden;
    button.setAttribute("aria-expanded", String(!list.hidden));
  }

  private get mayCorrect(): boolean { return home.dataset.mayCorrect === "yes"; }

  async keepJoint(): Promise<void> {
    if (this.joint < 0 || !this.moved) return;
    const picture = this.member!.first_picture + this.place, [x, y] = this.moved;
    const about = { clip: this.clip, picture, joint: this.visit.joints[this.joint]! };
    await this.correct("landmark", { ...about, x_px: x, y_px: y }, { ...about, as: "found" });
  }
  moveInstant(): void {
    const instant = find<HTMLSelectElement>("instant").value;
    void this.correct("instant", { instant, time_s: this.time_s }, { instant, as: "found" });
  }
  drop(): void { void this.correct("throw", { as: "dropped" }, { as: "found" }); }
  undo(): void {
    const last = this.undoes.pop();
    if (!last) { say("Nothing to take back in this sitting."); return; }
    void this.correct(last.kind, last.after, null, last.throw);
  }

  /** Send a correction; show the first answer, then the full one. `back` takes it back. */
  private async correct(kind: string, after: object, back: object | null, number = this.throw.number): Promise<void> {
    if (!this.mayCorrect) { this.complain("Only a clinician corrects."); return; }
    const began = performance.now(), reason = (document.getElementById("reason") as HTMLInputElement | null)?.value ?? "";
    say("Working it out.");
    try {
      const taken = await source.correct(kind, number, after, this.visit.version, reason);
      home.dataset.answer_ms = String(Math.round(performance.now() - began));
      if (back) this.undoes.push({ kind, throw: number, after: back });
      await this.take(taken);
    } catch (error) { await this.explain(error); }
  }

  private async take(taken: Taken): Promise<void> {
    this.visit.version = taken.version;
    showChange(find("change"), taken.words, taken.change);
    find("trouble").replaceChildren();
    say(`Correction ${taken.version} is kept: ${taken.words}. First answer; the full one follows.`);
    this.leaveJoint();
    this.renewing = this.renewing.then(() => this.renew(taken.words));
    await this.renewing;
  }

  private async renew(words: string): Promise<void> {
    try {
      const full = await source.renew();
      showChange(find("change"), words, full.change);
      await this.refresh();
      say(`Full answer: screening ${full.screening} is kept.`);
      home.dataset.screening = String(full.screening);
    } catch (error) { await this.explain(error); }
  }

  /** Take in again what the server holds. */
  private async refresh(): Promise<void> {
    const visit = await source.fetchVisit();
    this.visit.version = visit.version; this.visit.throws = visit.throws;
    const choice = find<HTMLSelectElement>("throw");
    choice.replaceChildren(...visit.throws.map((number) => new Option(String(number))));
    const still = visit.throws.includes(this.throw.number) ? this.throw.number : visit.throws[0]!;
    await this.load(still);
    find("findings").innerHTML = await source.fetchFindings();
  }

  private async explain(error: unknown): Promise<void> {
    const sentence = error instanceof Error ? error.message : String(error);
    this.complain(sentence);
    if (error instanceof Problem && error.status === 409) {
      const [joint, moved] = [this.joint, this.moved];
      await this.refresh();
      // What was being done is kept on the page, to be made again on top of the other person's.
      if (joint >= 0) { this.pick(joint); this.moved = moved; this.overlays.get(this.clip)!.move(moved); }
    }
  }

  private complain(sentence: string): void {
    const line = document.createElement("p");
    line.className = "problem"; line.textContent = sentence;
    find("trouble").replaceChildren(line);
    say("");
  }

  play(): void { if (this.timer) this.stop(); else this.begin(this.span_s); }
  loop(): void {
    const release_s = this.find("release")?.time.value;
    if (this.timer && this.span_s) { this.stop(); return; }
    this.begin(release_s === undefined ? this.ends : [release_s - 0.3, release_s + 0.15]);
  }
  changeSpeed(by: number): void {
    const choice = find<HTMLSelectElement>("speed");
    choice.selectedIndex = Math.max(0, Math.min(choice.length - 1, choice.selectedIndex + by));
    say(`Speed ${choice.selectedOptions[0]!.textContent}.`);
  }
  private begin(span_s: [number, number] | null): void {
    this.stop();
    this.span_s = span_s;
    find("play").setAttribute("aria-pressed", "true");
    find("loop").setAttribute("aria-pressed", String(span_s !== null));
    let last = performance.now();
    const tick = (now: number): void => {
      const next = this.time_s + ((now - last) / 1000) * Number(find<HTMLSelectElement>("speed").value);
      last = now;
      const [from, to] = this.span_s ?? this.ends;
      if (next >= to && !this.span_s) { this.go(to); this.stop(); return; }
      this.go(next >= to || next < from ? from : next);
      this.timer = requestAnimationFrame(tick);
    };
    this.timer = requestAnimationFrame(tick);
  }
  private stop(): void {
    if (this.timer) cancelAnimationFrame(this.timer);
    this.timer = 0; this.span_s = null;
    find("play").setAttribute("aria-pressed", "false");
    find("loop").setAttribute("aria-pressed", "false");
  }

  private bind(): void {
    const on = (id: string, act: () => void): void => { document.getElementById(id)?.addEventListener("click", act); };
    on("back", () => this.step(-1)); on("forth", () => this.step(1)); on("play", () => this.play()); on("loop", () => this.loop());
    on("help", () => this.help()); on("turn-left", () => this.turn(-0.3)); on("turn-right", () => this.turn(0.3));
    on("turn-up", () => this.figure.turn(0, 0.5)); on("move-instant", () => this.moveInstant()); on("drop", () => this.drop());
    on("keep-joint", () => void this.keepJoint()); on("leave-joint", () => this.leaveJoint());
    on("split", () => void this.correct("throw", { as: "split" }, { as: "found" }));
    on("join", () => void this.correct("throw", { as: "joined", other: Number(find<HTMLInputElement>("other").value) }, { as: "found" }));
    find("throw").addEventListener("change", () => void this.load(Number(find<HTMLSelectElement>("throw").value)));
    document.getElementById("joint")?.addEventListener("change", () => {
      const value = find<HTMLSelectElement>("joint").value;
      this.pick(value === "" ? -1 : Number(value));
    });
    find("time").addEventListener("input", () => { this.stop(); this.go(this.member!.times_s[Number(find<HTMLInputElement>("time").value)]!); });
    for (const button of document.querySelectorAll<HTMLElement>("[data-choose]"))
      button.addEventListener("click", () => this.choose(Number(button.dataset.choose)));
    find("findings").addEventListener("click", (event) => {
      const number = (event.target as HTMLElement).closest<HTMLElement>("[data-restore]")?.dataset.restore;
      if (number) void this.correct("throw", { as: "found" }, { as: "dropped" }, Number(number));
    });
  }
}

const review = new Review();
review.open().catch((error: unknown) => {
  say(error instanceof Error ? error.message : "The review could not be opened: load the page again.");
  home.dataset.ready = "failed";
});
