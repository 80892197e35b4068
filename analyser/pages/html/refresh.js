
(async () => {
  "use strict";
  const gone = document.getElementById("gone");
  const pause = (ms) => new Promise((done) => setTimeout(done, ms));
  let tag = "";
  for (;;) {
    try {
      const headers = tag ? { "If-None-Match": tag, Prefer: "wait=20" } : {};
      const answer = await fetch("/", { headers, cache: "no-store" });
      if (answer.status === 200) {
        const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
        document.getElementById("now").replaceWith(fresh.getElementById("now"));
        document.title = fresh.title;
        tag = answer.headers.get("ETag");
      } else if (answer.status !== 304) throw new Error(answer.statusText);
      gone.hidden = true;
    } catch {
      gone.hidden = false;
      await pause(1000);
    }
  }
})();
