// What script adds to a page that works without it: the form that waits, the drop of a file, the focus on what is wrong.
"use strict";

(() => {
  const box = document.getElementById("waiting");

  const make = (tag, text, ...children) => {
    const element = document.createElement(tag);
    element.textContent = text;
    element.append(...children);
    return element;
  };

  const button = (text, act) => {
    const element = make("button", text);
    element.type = "button";
    element.className = "quiet";
    element.addEventListener("click", act);
    return element;
  };

  // lookAt opens an entry in its form, as if it had just been sent.
  const lookAt = (entry) => {
    const form = make("form", "");
    form.method = "post";
    form.action = "/log/" + entry.kind;
    for (const [name, text] of Object.entries({ ...entry.fields, typed: entry.typed, step: "change" })) {
      const input = document.createElement("input");
      input.type = "hidden";
      input.name = name;
      input.value = text;
      form.append(input);
    }
    document.body.append(form);
    form.submit();
  };

  const words = (entry) => entry.kind + ", " + Object.entries(entry.fields)
    .filter(([name]) => name !== "units" && name !== "board")
    .map(([name, text]) => name.replaceAll("_", " ") + " " + text).join(", ");

  // show lists what was sent and what still waits.
  const show = (sent, left) => {
    box.replaceChildren();
    if (sent.length > 0) {
      box.append(make("p", sent.length === 1 ? "One record that waited here was sent:" : sent.length + " records that waited here were sent:"));
      const list = make("ul", "");
      for (const { text, path } of sent) {
        const link = make("a", text);
        link.href = path;
        list.append(make("li", "", link));
      }
      box.append(list);
    }
    if (left.length > 0) {
      box.append(make("p", left.length === 1 ? "One record waits in this browser:" : left.length + " records wait in this browser:"));
      const list = make("ul", "");
      for (const { entry, why } of left) {
        const item = make("li", words(entry) + ". ");
        if (why) {
          item.append(make("b", why + " "));
        }
        const look = why ? [button("Look at it", async () => { await waiting.drop(entry.key); lookAt(entry); })] : [];
        item.append(make("p", "", ...look, button("Drop it", async () => { await waiting.drop(entry.key); sendAll(); })));
        list.append(item);
      }
      box.append(list);
    }
    box.hidden = sent.length + left.length === 0;
  };

  // sendAll sends what waits, one after the other; one page of a browser does so at a time.
  const sendAll = async () => {
    const sent = [];
    const left = [];
    let reached = true;
    for (const entry of await waiting.list()) {
      const out = reached ? await waiting.send(entry) : null;
      reached = out !== null;
      if (out && (out.state === "kept" || out.state === "there")) {
        await waiting.drop(entry.key);
        sent.push(out);
      } else {
        left.push({ entry, why: out ? out.text : "" });
      }
    }
    show(sent, left);
    const note = document.getElementById("away");
    if (note) {
      note.hidden = location.pathname === "/away" && reached;
    }
    return reached;
  };

  const alone = (work) => (navigator.locks ? navigator.locks.request("packwane sending", work) : work());

  const keepForm = async () => {
    const room = (await caches.keys()).find((name) => name.startsWith("packwane "));
    if (room) {
      await (await caches.open(room)).add("/away");
    }
  };

  const start = async () => {
    if (!window.isSecureContext || !("serviceWorker" in navigator) || !document.querySelector(".tabs")) {
      return;
    }
    await navigator.serviceWorker.register("/worker.js");
    const reached = await alone(sendAll);
    if (reached && document.querySelector("h1")?.textContent === "Packs") {
      await keepForm();
    }
    window.addEventListener("online", () => alone(sendAll));
  };

  const errors = document.getElementById("errors");
  if (errors) {
    errors.focus();
    for (const link of errors.querySelectorAll("a")) {
      const lead = (event) => {
        event.preventDefault();
        document.getElementById(link.hash.slice(1))?.focus();
      };
      link.addEventListener("click", lead);
      // with the key only once it is let go: else the rest of the press would reach the field, and send the form
      link.addEventListener("keydown", (event) => { if (event.key === "Enter") event.preventDefault(); });
      link.addEventListener("keyup", (event) => { if (event.key === "Enter") lead(event); });
    }
  }

  for (const form of document.querySelectorAll("[data-drop]")) {
    const input = form.querySelector("input[type=file]");
    form.addEventListener("dragover", (event) => { event.preventDefault(); form.classList.add("over"); });
    form.addEventListener("dragleave", () => form.classList.remove("over"));
    form.addEventListener("drop", (event) => {
      event.preventDefault();
      form.classList.remove("over");
      if (event.dataTransfer.files.length > 0) {
        input.files = event.dataTransfer.files;
        form.submit();
      }
    });
  }

  start().catch(() => {}); // a browser that keeps nothing still shows pages
})();
