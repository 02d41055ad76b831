// Mounts the modules a page asks for: <element data-module="name other-name">. A module is a file beside this one that
// exports mount(element). Its words come from the page: data attributes, or a JSON block.
// Not later, like the others: an Enter pressed at once must be asked about too.
import * as confirm from './confirm.js';

const MODULES = {
  'audit-plan': () => import('./audits/plan.js'),
  bench: () => import('./bench.js'),
  calibrate: () => import('./calibrate.js'),
  confirm: () => confirm,
  counter: () => import('./counter.js'),
  'head-count': () => import('./head-count.js'),
  orchard: () => import('./orchard.js'),
  print: () => import('./print.js'),
  refresh: () => import('./refresh.js'),
  'scan-field': () => import('./scan-field.js'),
  'sign-out': () => import('./sign-out.js'),
  stocktake: () => import('./stocktake.js'),
  wash: () => import('./wash.js'),
};

const mounted = new WeakMap();

async function mountOne(element, name) {
  const names = mounted.get(element) ?? new Set();
  if (names.has(name)) return;
  mounted.set(element, names.add(name));
  const load = MODULES[name];
  if (!load) throw new Error(`No module is called "${name}".`);
  (await load()).mount(element);
}

function mountAll(root) {
  const mounting = [];
  for (const element of root.querySelectorAll('[data-module]')) {
    for (const name of element.dataset.module.split(/\s+/).filter(Boolean)) {
      mounting.push(mountOne(element, name).catch(reportError));
    }
  }
  return Promise.all(mounting);
}

mountAll(document).then(() => {
  document.documentElement.dataset.mounted = '';
});
// A module that replaces content says so, and what came with it is mounted too.
document.addEventListener('content-replaced', (event) => mountAll(event.target));
