// Records that wait in this browser until packwane is reached. The page's script and the service worker share this file: the worker
// puts a form aside that could not be sent, the page sends what waits. What a record means is fixed when it is put aside (the moment,
// the zone, the units, the pack), so that sending it twice makes one record.
"use strict";

const waiting = (() => {
  const open = () => new Promise((done, fail) => {
    const request = indexedDB.open("packwane", 1);
    request.onupgradeneeded = () => request.result.createObjectStore("waiting", { keyPath: "key" });
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });

  const run = async (mode, work) => {
    const db = await open();
    try {
      return await new Promise((done, fail) => {
        const action = db.transaction("waiting", mode);
        const request = work(action.objectStore("waiting"));
        action.oncomplete = () => done(request.result);
        action.onabort = () => fail(action.error);
        action.onerror = () => fail(action.error);
      });
    } finally {
      db.close();
    }
  };

  // now is RFC 3339 in the zone of this browser.
  const now = () => {
    const t = new Date();
    const offset = -t.getTimezoneOffset();
    const two = (n) => String(Math.trunc(Math.abs(n))).padStart(2, "0");
    const local = new Date(t.getTime() + offset * 60000).toISOString().slice(0, 19);
    return local + (offset < 0 ? "-" : "+") + two(offset / 60) + ":" + two(offset % 60);
  };

  return {
    list: () => run("readonly", (store) => store.getAll()),
    put: (entry) => run("readwrite", (store) => store.put(entry)),
    drop: (key) => run("readwrite", (store) => store.delete(key)),

    // of makes an entry of the fields of a form for a kind of record.
    of: (kind, fields) => {
      const entry = { key: crypto.randomUUID(), kind, typed: fields.typed || now(), against: fields.against === "yes", fields: {} };
      for (const [name, text] of Object.entries(fields)) {
        if (typeof text === "string" && text !== "" && !["typed", "against", "step"].includes(name)) {
          entry.fields[name] = text;
        }
      }
      return entry;
    },

    // send hands one entry over and returns what became of it, null where packwane is not reached.
    send: async (entry) => {
      const body = JSON.stringify({ kind: entry.kind, typed: entry.typed, against: entry.against, fields: entry.fields });
      try {
        const answer = await fetch("/wait", { method: "POST", headers: { "Content-Type": "application/json" }, body, credentials: "same-origin", redirect: "error" });
        if (answer.status === 400 || answer.status === 413) {
          return await answer.json();
        }
        return answer.ok ? await answer.json() : null;
      } catch {
        return null;
      }
    },
  };
})();
