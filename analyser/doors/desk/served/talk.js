// The conversation with the desk: JSON-RPC over one web-socket, shared by the editor's protocol and the page's own words.

const AGAIN_AFTER = 700;

export class Talk {
  constructor() {
    this.handlers = {};
    this.listeners = new Set(); // of the editor's client
    this.pending = new Map();
    this.count = 0;
    this.socket = null;
    this.onopen = () => {};
    this.onclose = () => {};
    // what the editor's client takes for its line to the server
    this.transport = {
      send: (text) => this.say(text),
      subscribe: (handler) => this.listeners.add(handler),
      unsubscribe: (handler) => this.listeners.delete(handler),
    };
  }

  connect() {
    const socket = (this.socket = new WebSocket(`ws://${location.host}/talk`));
    socket.addEventListener("open", () => this.onopen());
    socket.addEventListener("message", (event) => this.hear(event.data));
    socket.addEventListener("close", () => {
      for (const { reject } of this.pending.values()) reject(new Error("the conversation ended"));
      this.pending.clear();
      this.onclose();
      setTimeout(() => this.connect(), AGAIN_AFTER);
    });
  }

  get open() {
    return this.socket !== null && this.socket.readyState === WebSocket.OPEN;
  }

  say(text) {
    if (!this.open) throw new Error("the desk can't be reached");
    this.socket.send(text);
  }

  /** Ask the desk; the answer, or an Error with its words. */
  ask(method, params = {}) {
    const id = `desk-${++this.count}`;
    return new Promise((resolve, reject) => {
      this.pending.set(id, { resolve, reject });
      try {
        this.say(JSON.stringify({ jsonrpc: "2.0", id, method: `desk/${method}`, params }));
      } catch (error) {
        this.pending.delete(id);
        reject(error);
      }
    });
  }

  hear(text) {
    const message = JSON.parse(text);
    const waiting = this.pending.get(message.id);
    if (waiting && message.method === undefined) {
      this.pending.delete(message.id);
      if (message.error) waiting.reject(new Error(message.error.message));
      else waiting.resolve(message.result);
    } else if (message.method?.startsWith("desk/")) {
      this.handlers[message.method.slice(5)]?.(message.params);
    } else {
      for (const handler of [...this.listeners]) handler(text);
    }
  }
}
