// The farm has the outline of a walk: this device forgets its places, so that the next walk begins empty.
"use strict";

localStorage.removeItem(`evenground-walk-${document.currentScript.dataset.trial}`);
