// What waits to be sent, kept on the phone until the bench has it: a reload or a flat battery loses nothing.

const NAME = "waiting";

function ask(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

export async function openWaiting() {
  let base = null;
  try {
    const opening = indexedDB.open("bench-phone", 1);
    opening.onupgradeneeded = () => opening.result.createObjectStore(NAME, { keyPath: "op" });
    base = await ask(opening);
  } catch {
    base = null;
  }
  const memory = new Map();
  const store = (mode) => base.transaction(NAME, mode).objectStore(NAME);
  return {
    lasting: base !== null,
    async put(item) {
      memory.set(item.op, item);
      if (base) await ask(store("readwrite").put(item));
    },
    async remove(op) {
      memory.delete(op);
      if (base) await ask(store("readwrite").delete(op));
    },
    async all() {
      return base ? ask(store("readonly").getAll()) : [...memory.values()];
    },
  };
}

// crypto.randomUUID needs https; the door is plain http on the shop's own network.
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}
