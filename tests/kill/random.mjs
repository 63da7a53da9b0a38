// Random numbers that come again with their seed (mulberry32).
export class Random {
  constructor(seed) {
    this.seed = seed >>> 0;
    this.state = this.seed;
  }

  // From 0 up to 1.
  next() {
    this.state = (this.state + 0x6d2b79f5) >>> 0;
    let t = this.state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  }

  between(low, high) {
    return low + this.next() * (high - low);
  }

  chance(share) {
    return this.next() < share;
  }

  of(list) {
    return list[Math.floor(this.next() * list.length)];
  }
}
