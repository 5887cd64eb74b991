// Fetching a page of ours as a document.

export type Fetched =
  | { kind: "page"; document: Document }
  | { kind: "signed-out" }
  | { kind: "gone"; status: number };

export async function fetchPage(address: string, signal?: AbortSignal): Promise<Fetched> {
  const answer = await fetch(address, {
    // The header tells the server that this is not somebody opening a page.
    headers: { Accept: "text/html", "X-Redraw": "1" },
    credentials: "same-origin",
    redirect: "follow",
    cache: "no-store",
    ...(signal ? { signal } : {}),
  });
  if (answer.status === 401) return { kind: "signed-out" };
  // A redirect leads to another page, which must not be drawn over this one.
  if (!answer.ok || answer.redirected) return { kind: "gone", status: answer.status };
  const text = await answer.text();
  return { kind: "page", document: new DOMParser().parseFromString(text, "text/html") };
}
