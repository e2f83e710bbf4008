// What the tablet keeps by itself. Every write is flushed to the disk before it counts ("strict"): with the
// browser's own default a power cut loses the last seconds, which a person was told are kept.

const NAME = "bay"
const STORES = {
  meta: { keyPath: "name" },
  entries: { keyPath: "key" },
  photos: { keyPath: "upload" },
  pieces: { keyPath: ["upload", "n"] },
  drafts: { keyPath: "id" },
}

let opened = null

function open() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1)
    request.onupgradeneeded = () => {
      for (const [name, options] of Object.entries(STORES)) request.result.createObjectStore(name, options)
      request.transaction.objectStore("entries").createIndex("state", ["state", "seq"])
    }
    request.onerror = () => reject(request.error)
    request.onsuccess = () => {
      const db = request.result
      db.onclose = forget
      db.onversionchange = () => (db.close(), forget())
      resolve(db)
    }
  })
  opened.catch(forget)
  return opened
}

function forget() {
  opened = null
}

// A tablet that was put aside loses its connection without a word (iOS); the next use finds out and opens anew.
async function transact(names, mode, work) {
  for (let again = false; ; again = true) {
    try {
      return await once(await open(), names, mode, work)
    } catch (fault) {
      const lost = fault?.name === "InvalidStateError" || /connection/i.test(fault?.message ?? "")
      if (again || !lost) throw fault
      forget()
    }
  }
}

// Resolves when the transaction is complete, not when a request succeeded: only then is it on the disk.
function once(db, names, mode, work) {
  return new Promise((resolve, reject) => {
    const tx = db.transaction(names, mode, { durability: "strict" })
    let result
    tx.oncomplete = () => resolve(result)
    tx.onabort = () => reject(tx.error ?? new DOMException("The write was given up.", "AbortError"))
    const stores = Object.fromEntries(names.map((name) => [name, tx.objectStore(name)]))
    const working = async () => work(stores)
    working().then(
      (value) => (result = value),
      (fault) => {
        reject(fault)
        try {
          tx.abort()
        } catch {
          // It has ended already; the fault says why.
        }
      },
    )
  })
}

export function asked(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result)
    request.onerror = () => reject(request.error)
  })
}

export const read = (names, work) => transact(names, "readonly", work)
export const write = (names, work) => transact(names, "readwrite", work)

export async function remembered(stores, name) {
  return (await asked(stores.meta.get(name)))?.value
}
