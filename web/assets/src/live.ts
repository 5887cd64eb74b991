// A page that follows what it shows: <main data-live="card:12 day:today">.
// The server says only that something changed; the page then asks for itself
// and takes over the difference. After a break in the line it always asks,
// since it cannot know what it missed.
import { fetchPage } from "./fetchpage";
import { morphInto } from "./morph";

const GATHER = 200; // milliseconds between two looks: what comes meanwhile is one
const RETRY = 10_000; // milliseconds until a line that was refused is tried again
const QUIET = 2_500; // milliseconds a break may last before anybody is told

export function followPage(): void {
  const main = document.querySelector<HTMLElement>("main[data-live]");
  const topics = (main?.dataset["live"] ?? "").split(" ").filter(Boolean);
  if (!main || topics.length === 0) return;
  new Follower(main, topics).start();
}

class Follower {
  private source: EventSource | undefined;
  private gathering: number | undefined;
  private looked = -GATHER; // when, on the page's own clock
  private telling: number | undefined;
  private asking = false;
  private again = false;
  private missed = false;
  private heldBack = false;

  constructor(
    private readonly main: HTMLElement,
    private readonly topics: string[],
  ) {}

  start(): void {
    this.connect();
    // A tablet that was asleep, and a page out of the browser's memory, have
    // missed everything since.
    document.addEventListener("visibilitychange", () => {
      if (document.visibilityState === "visible") this.look();
    });
    addEventListener("pageshow", (event) => {
      if (event.persisted) this.connect(), this.look();
    });
    addEventListener("pagehide", () => this.source?.close());
    addEventListener("online", () => this.connect());
    // What was held back while somebody typed is drawn once they leave it.
    this.main.addEventListener("focusout", () => {
      if (this.heldBack) this.look();
    });
  }

  private connect(): void {
    this.source?.close();
    const query = this.topics.map((t) => "topic=" + encodeURIComponent(t)).join("&");
    const source = new EventSource("/live?" + query);
    this.source = source;
    source.onopen = () => {
      this.say("");
      if (this.missed) this.look();
      this.missed = false;
    };
    source.onmessage = () => this.look();
    source.onerror = () => {
      this.missed = true;
      this.saySoon("Not connected. What you see may have changed; it will catch up by itself.");
      // Refused outright, the browser does not try again by itself.
      if (source.readyState === EventSource.CLOSED) setTimeout(() => this.retry(source), RETRY);
    };
  }

  private retry(source: EventSource): void {
    if (this.source === source) this.connect(), this.look();
  }

  // At once when it was quiet, so that a tick is seen as it is made.
  private look(): void {
    this.gathering ??= setTimeout(
      () => {
        this.gathering = undefined;
        this.looked = performance.now();
        void this.ask();
      },
      Math.max(0, this.looked + GATHER - performance.now()),
    );
  }

  private async ask(): Promise<void> {
    if (this.asking) {
      this.again = true;
      return;
    }
    this.asking = true;
    try {
      const page = await fetchPage(location.href);
      if (page.kind === "signed-out") {
        this.say("You are signed out. Open the page again to sign in.");
      } else if (page.kind === "page") {
        const there = page.document.querySelector("main");
        if (there) this.heldBack = morphInto(this.main, there);
        document.title = page.document.title;
        this.main.dispatchEvent(new CustomEvent("rampside:drawn", { bubbles: true }));
      }
    } catch {
      this.missed = true; // the line is down; connecting again will ask anew
    } finally {
      this.asking = false;
      if (this.again) {
        this.again = false;
        this.look();
      }
    }
  }

  private saySoon(words: string): void {
    this.telling ??= setTimeout(() => this.say(words), QUIET);
  }

  private say(words: string): void {
    clearTimeout(this.telling);
    this.telling = undefined;
    const note = document.getElementById("live-note");
    if (note && note.textContent !== words) note.textContent = words;
  }
}
