// The token that every request which changes something has to carry.

/** The page's token; an empty text where nobody is logged in. */
export function readToken(): string {
  return document.querySelector<HTMLMetaElement>('meta[name="elbowroom-token"]')?.content ?? "";
}

/** `fetch` with the token, for requests that change something. */
export function send(address: string, options: RequestInit = {}): Promise<Response> {
  const headers = new Headers(options.headers);
  headers.set("X-Elbowroom-Token", readToken());
  return fetch(address, { ...options, headers, credentials: "same-origin" });
}
