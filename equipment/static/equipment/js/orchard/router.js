// Which screen shows: the address's hash says so (`#/piece/CL0012X`), so that the phone's own back key works.

export function createRouter({ screens, show, home = 'crew' }) {
  function where() {
    const [name, ...rest] = location.hash.replace(/^#\/?/, '').split('/').map(decodeURIComponent);
    return screens[name] ? { name, args: rest } : { name: home, args: [] };
  }

  const path = (name, ...args) => `#/${[name, ...args].map(encodeURIComponent).join('/')}`;


  return {
    where,
    isHome: () => [home, ''].includes(location.hash.replace(/^#\/?/, '').split('/')[0]),
    // Once all screens are there. A touch may have been quicker; and the page may have been opened at another screen.
    start() {
      window.addEventListener('hashchange', () => show(where()));
      show(where());
    },
    path,
    go(name, ...args) {
      const wanted = path(name, ...args);
      if (location.hash === wanted) show(where());
      else location.hash = wanted;
    },
    // Instead of the screen that is done with: the back key does not lead there again.
    replace(name, ...args) {
      history.replaceState(null, '', path(name, ...args));
      show(where());
    },
    back: () => history.back(),
  };
}
