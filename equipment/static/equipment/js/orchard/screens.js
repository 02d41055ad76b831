// The screens by the name that stands in the address. The first one comes with the page, the rest once it shows.

import * as crew from './screens/crew.js';

export const screens = { crew };

export const allScreens = async () => Object.assign(screens, (await import('./screens/rest.js')).rest);
