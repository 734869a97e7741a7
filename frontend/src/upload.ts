// One clip on its way: said first with the digest of every piece, then sent piece by piece. What has arrived is asked of
// the server, so a cut line, a reload or a restart costs one piece at the most.
import { send } from "./token";

export interface UploadState {
  id: string;
  name: string;
  received: number;
  pieces: number;
  finished: boolean;
}

export interface UploadNews {
  (words: string, share: number): void;
}

const RETRY_MS = [1000, 2000, 4000, 8000, 15000];

/** A sentence from the server, which sending again would not change. */
export class Refusal extends Error {}

export class Upload {
  private isPaused = false;
  private isStopped = false;
  private wake: () => void = () => undefined;
  private state: UploadState | undefined;

  constructor(
    private readonly file: File,
    private readonly visit: string,
    private readonly view: string,
    private readonly shows: string,
    private readonly pieceBytes: number,
    private readonly tell: UploadNews,
  ) {}

  pause(): void {
    this.isPaused = true;
  }

  resume(): void {
    this.isPaused = false;
    this.wake();
  }

  /** Stop for good and let the server remove what arrived. */
  async cancel(): Promise<void> {
    this.isStopped = true;
    this.resume();
    if (this.state) await send(`/uploads/${this.state.id}`, { method: "DELETE" });
  }

  /** Send everything; returns whether the clip has arrived, false where it was cancelled. */
  async run(): Promise<boolean> {
    const digests = await this.digestPieces();
    if (this.isStopped) return false;
    const said = { name: this.file.name, size: this.file.size, pieces: digests.map(toHex), view: this.view, shows: this.shows };
    this.state = await this.ask(`/visits/${this.visit}/uploads`, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(said),
    });
    while (this.state.received < this.state.pieces) {
      await this.waitWhilePaused();
      if (this.isStopped) return false;
      const number = this.state.received;
      this.tell(`piece ${number + 1} of ${this.state.pieces}`, number / this.state.pieces);
      this.state = await this.ask(`/uploads/${this.state.id}/pieces/${number}`, {
        method: "PUT",
        headers: {
          "Content-Type": "application/octet-stream",
          "Content-Digest": `sha-256=:${toBase64(digests[number]!)}:`,
        },
        body: this.slice(number),
      });
    }
    this.tell("being put together", 1);
    this.state = await this.ask(`/uploads/${this.state.id}/end`, { method: "POST" });
    return true;
  }

  private slice(number: number): Blob {
    return this.file.slice(number * this.pieceBytes, (number + 1) * this.pieceBytes);
  }

  private async digestPieces(): Promise<ArrayBuffer[]> {
    const count = Math.ceil(this.file.size / this.pieceBytes);
    const digests: ArrayBuffer[] = [];
    for (let number = 0; number < count && !this.isStopped; number++) {
      digests.push(await crypto.subtle.digest("SHA-256", await this.slice(number).arrayBuffer()));
      this.tell("being read", 0);
    }
    return digests;
  }

  /** Ask the server; a cut line is tried again, a sentence of the server is raised. */
  private async ask(address: string, options: RequestInit): Promise<UploadState> {
    for (let attempt = 0; ; attempt++) {
      try {
        const answer = await send(address, { ...options, headers: { Accept: "application/json", ...options.headers } });
        if (answer.ok) return (await answer.json()) as UploadState;
        const words = await readSentence(answer);
        if (answer.status < 500 && !words.includes("damaged on its way")) throw new Refusal(words);
        this.tell(words, this.share());
      } catch (error) {
        if (error instanceof Refusal) throw error;
        this.tell("the line is cut; trying again", this.share());
      }
      if (this.isStopped) throw new Refusal("The upload was stopped.");
      await wait(RETRY_MS[Math.min(attempt, RETRY_MS.length - 1)]!);
    }
  }

  private share(): number {
    return this.state ? this.state.received / this.state.pieces : 0;
  }

  private async waitWhilePaused(): Promise<void> {
    while (this.isPaused && !this.isStopped) {
      this.tell("paused", this.share());
      await new Promise<void>((resolve) => (this.wake = resolve));
    }
  }
}

async function readSentence(answer: Response): Promise<string> {
  try {
    const content = (await answer.json()) as Record<string, unknown>;
    const words = content["problem"] ?? content["detail"] ?? content["message"];
    if (typeof words === "string") return words;
  } catch {
    // No JSON: the status has to do.
  }
  return answer.status === 401 ? "Log in again, then choose the same file: it goes on where it stopped." : `The server answered ${answer.status}.`;
}

function wait(milliseconds: number): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, milliseconds));
}

function toHex(digest: ArrayBuffer): string {
  return Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

function toBase64(digest: ArrayBuffer): string {
  return btoa(String.fromCharCode(...new Uint8Array(digest)));
}
