// The first address was good: keep the page's half of the session where only this origin can read it, and go on.
localStorage.setItem("stillheld key", document.querySelector("meta[name=key]").content);
location.replace("/");
