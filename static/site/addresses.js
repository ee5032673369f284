// Where the server listens (assessments/urls.py).

export const EVENTS = "/site/events/";
export const LOSSES = "/site/losses/";
export const PACKS = "/site/packs/";
export const renewAddress = (pack) => `${PACKS}${pack}/renew/`;
