// All screens but the first, which shows before these are there.

import * as baths from './baths.js';
import * as block from './block.js';
import * as crews from './crews.js';
import * as dip from './dip.js';
import * as knockoff from './knockoff.js';
import * as last from './last.js';
import * as lost from './lost.js';
import * as mend from './mend.js';
import * as mix from './mix.js';
import * as more from './more.js';
import * as morning from './morning.js';
import * as pass from './pass.js';
import * as phone from './phone.js';
import * as picker from './picker.js';
import * as piece from './piece.js';
import * as plan from './plan.js';
import * as spare from './spare.js';

export const rest = { baths, block, crews, dip, knockoff, last, lost, mend, mix, more, morning, pass, phone, picker, piece, plan, spare };
