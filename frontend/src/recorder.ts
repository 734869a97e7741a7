// The camera of the tablet itself, through the browser: says plainly what rate it gives.

const WISHED_HZ = 240;
const KINDS = ["video/mp4;codecs=avc1", "video/mp4", "video/webm;codecs=vp9", "video/webm"];

export class Camera {
  private stream: MediaStream | undefined;
  private recorder: MediaRecorder | undefined;

  constructor(private readonly preview: HTMLVideoElement) {}

  get isRecording(): boolean {
    return this.recorder?.state === "recording";
  }

  /** Open the camera and return a sentence on the rate that it really gives. */
  async open(): Promise<string> {
    if (!navigator.mediaDevices?.getUserMedia) {
      throw new Error("This browser gives no camera here: it does so only under https or on this very machine.");
    }
    this.stream = await navigator.mediaDevices.getUserMedia({
      audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false },
      video: { facingMode: "environment", width: { ideal: 1920 }, height: { ideal: 1080 }, frameRate: { ideal: WISHED_HZ } },
    });
    this.preview.srcObject = this.stream;
    this.preview.hidden = false;
    await this.preview.play();
    return describeRate(this.stream.getVideoTracks()[0]?.getSettings().frameRate ?? 0);
  }

  begin(taken: (file: File) => void): void {
    if (!this.stream) return;
    const kind = KINDS.find((one) => MediaRecorder.isTypeSupported(one)) ?? "";
    const parts: Blob[] = [];
    this.recorder = new MediaRecorder(this.stream, { mimeType: kind, videoBitsPerSecond: 20_000_000 });
    this.recorder.ondataavailable = (event) => parts.push(event.data);
    this.recorder.onstop = () => {
      const ending = kind.includes("mp4") ? "mp4" : "webm";
      const at = new Date().toISOString().slice(11, 19).replaceAll(":", "-");
      taken(new File(parts, `tablet ${at}.${ending}`, { type: kind }));
    };
    this.recorder.start(1000);
  }

  end(): void {
    this.recorder?.stop();
  }

  close(): void {
    if (this.isRecording) this.end();
    this.stream?.getTracks().forEach((track) => track.stop());
    this.stream = undefined;
    this.preview.srcObject = null;
    this.preview.hidden = true;
  }
}

export function describeRate(rateHz: number): string {
  if (!rateHz) return "The browser does not say how many pictures a second this camera gives: use a phone's own 240 clip.";
  const rate = Math.round(rateHz);
  if (rate >= 232) return `This camera gives ${rate} pictures a second: enough for everything.`;
  if (rate >= 116) return `This camera gives ${rate} pictures a second: positions will do, turning rates of the arm need a phone's own 240 clip.`;
  return `This camera gives only ${rate} pictures a second: good for positions at best. A phone's own slow-motion clip at 240 is better.`;
}
