// What the server tells of a visit, and how it is asked.
import { send } from "./token";

export interface Clip { number: number; name: string; size_px: [number, number]; rate_hz: number; has_proxy: boolean }
export interface Visit {
  visit: string; version: number; is_current: boolean; clips: Clip[]; throws: number[];
  joints: string[]; bones: [number, number][];
}
export interface Obtained { value?: number; half_width?: number; absent?: string; advice?: string }
export interface Instant { name: string; time: Obtained; by_hand: boolean }
export interface Member {
  clip: number; first_picture: number; times_s: number[]; joints_px: [number, number][][]; placed: [number, number][];
}
export interface Curve {
  key: string; words: string; unit: string; sign: string; times_s: number[];
  values: (number | null)[]; half_widths: (number | null)[];
}
export interface Throw {
  number: number; version: number; instants: Instant[]; members: Member[];
  motion: { times_s: number[]; joints_m: [number, number, number][][] }; curves: Curve[];
}
export interface MeasureChange {
  measure: string; words: string; before: Obtained; after: Obtained; words_before: string; words_after: string;
  verdict_before: string; verdict_after: string; is_verdict_changed: boolean;
}
export interface Change { is_first: boolean; draws: number; unchanged: number; measures: MeasureChange[] }
export interface Taken { version: number; words: string; change: Change }
export interface Times { capture_s: number[]; seek_s: number[]; proxy: { width_px: number; height_px: number } }

/** A problem that the server put into one sentence. */
export class Problem extends Error {
  constructor(readonly status: number, sentence: string) { super(sentence); }
}

async function read<T>(answer: Response): Promise<T> {
  const turn = answer.headers.get("HX-Redirect");
  if (turn) { location.assign(turn); }
  if (!answer.ok) {
    const said = await answer.json().catch(() => ({ problem: "The server did not answer as expected: try again." }));
    throw new Problem(answer.status, String(said.problem ?? "Log in again."));
  }
  return (await answer.json()) as T;
}

export class Source {
  constructor(private readonly base: string) {}
  fetchVisit(): Promise<Visit> { return this.get("data"); }
  fetchThrow(number: number): Promise<Throw> { return this.get(`throws/${number}`); }
  fetchTimes(clip: number): Promise<Times> { return this.get(`clips/${clip}/times`); }
  nameProxy(clip: number): string { return `${this.base}/clips/${clip}/proxy`; }

  async fetchFindings(): Promise<string> {
    const answer = await fetch(`${this.base}/findings`, { credentials: "same-origin" });
    return answer.ok ? answer.text() : "";
  }

  async correct(kind: string, number: number, after: object, known: number, reason: string): Promise<Taken> {
    const body = JSON.stringify({ kind, throw: number, after: JSON.stringify(after), known, reason });
    return read(await send(`${this.base}/corrections`, { method: "POST", body, headers: this.headers() }));
  }

  async renew(): Promise<{ screening: number; change: Change }> {
    return read(await send(`${this.base}/current`, { method: "POST", body: "{}", headers: this.headers() }));
  }

  private async get<T>(part: string): Promise<T> {
    return read(await fetch(`${this.base}/${part}`, { credentials: "same-origin", headers: { Accept: "application/json" } }));
  }

  private headers(): Record<string, string> {
    return { "Content-Type": "application/json", Accept: "application/json" };
  }
}
