// Will this tablet keep what is entered on it? Asked of the browser, said in words.

/** Browsers that limit private windows give them about so much; any less holds no round either. */
const LEAST_BYTES = 120e6;
const TRIAL = "trial of keeping";

/**
 * @typedef {object} Tablet
 * @property {boolean} secure  came by https, or from this machine
 * @property {boolean} installed  opened by its picture on the first screen
 * @property {boolean} forgets  a private window, as far as a browser lets itself be recognised
 * @property {boolean | null} stays  promised to keep what is entered; null where nothing can be asked
 * @property {number | null} free  bytes by the browser's own account; null where it does not say
 */

/**
 * The parts of a window that are asked, so that a test can play every browser.
 * @typedef {{isSecureContext: boolean, navigator: any, indexedDB?: any, matchMedia: (query: string) => {matches: boolean}}} World
 */

/**
 * @param {World} world
 * @param {boolean} ask  for durable storage now; some browsers ask the person in turn
 * @returns {Promise<Tablet>}
 */
export async function readTablet(world, ask) {
  const { storage } = world.navigator;
  const shown = ["standalone", "fullscreen", "minimal-ui"].some((mode) => world.matchMedia(`(display-mode: ${mode})`).matches);
  const estimate = await room(storage);
  return {
    secure: world.isSecureContext,
    installed: shown || world.navigator.standalone === true,
    forgets: world.isSecureContext && (await forgets(world, estimate)),
    stays: await stays(storage, ask),
    free: typeof estimate?.quota === "number" ? Math.max(0, estimate.quota - (estimate.usage ?? 0)) : null,
  };
}

/** @param {any} storage @returns {Promise<{quota?: number, usage?: number} | null | undefined>} null: it refused */
async function room(storage) {
  if (!storage?.estimate) return undefined;
  return storage.estimate().catch(() => null);
}

/** @param {any} storage @param {boolean} ask */
async function stays(storage, ask) {
  if (!storage?.persisted) return null;
  if (await storage.persisted().catch(() => false)) return true;
  return ask && storage.persist ? storage.persist().catch(() => false) : false;
}

/**
 * Some browsers open no worker in a private window, some no folder, some no database, some give
 * little room. Others take care not to differ: there only the picture on the first screen is sure.
 * @param {World} world
 * @param {{quota?: number, usage?: number} | null | undefined} estimate
 */
async function forgets(world, estimate) {
  const { serviceWorker, storage } = world.navigator;
  if (!serviceWorker || estimate === null) return true;
  if (typeof estimate?.quota === "number" && estimate.quota < LEAST_BYTES) return true;
  if (storage?.getDirectory && !(await storage.getDirectory().then(() => true, () => false))) return true;
  return !(await opensDatabase(world.indexedDB));
}

/** @param {any} factory @returns {Promise<boolean>} */
function opensDatabase(factory) {
  return new Promise((answer) => {
    try {
      const asked = factory.open(TRIAL);
      asked.onerror = () => answer(false);
      asked.onsuccess = () => {
        asked.result.close();
        factory.deleteDatabase(TRIAL);
        answer(true);
      };
    } catch {
      answer(false);
    }
  });
}

/**
 * One row each: what was asked, the answer, whether it is well, and what to do where it is not.
 * @param {Tablet} tablet
 * @param {boolean} asked  durable storage has been asked for
 * @returns {{what: string, answer: string, well: boolean, help: string}[]}
 */
export function tabletRows(tablet, asked) {
  const { secure, installed, forgets: gone, stays: kept, free } = tablet;
  const opens = secure && !gone;
  return [
    { what: "Opens without the network", answer: opens ? "yes" : "no", well: opens, help: secure ? "" : "This address begins with http. The manager's page of tablets says how the gallery gets one that begins with https." },
    { what: "Opened by its picture on the first screen", answer: installed ? "yes" : "no", well: installed, help: installed ? "" : "Put it there first, open it by its picture, and enrol it then: some tablets keep the two apart." },
    { what: "Keeps what is entered until you clear it", answer: kept ? "yes" : kept === null ? "cannot be asked" : asked ? "not promised" : "asked when you enrol it", well: kept === true, help: kept || !asked ? "" : "The browser may clear it when the tablet runs out of room or is not used for a week. By its picture on the first screen it promises more readily." },
    { what: "Room for entries", answer: free === null ? "not said" : amount(free), well: free !== null && free >= 50e6, help: free !== null && free < 50e6 ? "Make room on this tablet first." : "" },
  ];
}

/** @param {number} bytes */
function amount(bytes) {
  return bytes >= 1e9 ? `${Math.floor(bytes / 1e8) / 10} GB` : `${Math.floor(bytes / 1e6)} MB`;
}
