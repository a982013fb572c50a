// On the browser's sound thread: blocks go out, blocks come in, nothing else.

/// So many quanta (of 128 samples) come in as one block, and so often it is told how much has gone out.
const QUANTA = 8;

class Out extends AudioWorkletProcessor {
    constructor() {
        super();
        this.blocks = [];
        this.at = 0;
        this.played = 0;
        /// How often nothing had come in the middle of what was loud enough to be heard.
        this.gaps = 0;
        this.wasLoud = false;
        this.quanta = 0;
        this.isOver = false;
        this.port.onmessage = ({ data }) => {
            if (data === "end") this.isOver = true;
            else this.blocks.push(data);
        };
    }

    process(_inputs, [[channel]]) {
        let filled = 0;
        while (filled < channel.length && this.blocks.length > 0) {
            const [block] = this.blocks;
            const length = Math.min(channel.length - filled, block.length - this.at);
            channel.set(block.subarray(this.at, this.at + length), filled);
            filled += length;
            this.at += length;
            if (this.at === block.length) {
                this.blocks.shift();
                this.at = 0;
            }
        }
        const isDry = filled < channel.length;
        if (isDry && this.wasLoud) this.gaps += 1;
        this.wasLoud = !isDry && channel.some((value) => Math.abs(value) > 0.001);
        this.played += filled;
        this.quanta += 1;
        if (this.quanta % QUANTA === 0) this.port.postMessage({ played: this.played, gaps: this.gaps });
        return !this.isOver;
    }
}

class In extends AudioWorkletProcessor {
    constructor() {
        super();
        this.block = new Float32Array(128 * QUANTA);
        this.at = 0;
        this.isOver = false;
        this.port.onmessage = () => (this.isOver = true);
    }

    process([channels]) {
        if (!channels || channels.length === 0) return !this.isOver;
        for (let index = 0; index < channels[0].length; index += 1) {
            let sum = 0;
            for (const channel of channels) sum += channel[index];
            this.block[this.at] = sum / channels.length;
            this.at += 1;
            if (this.at === this.block.length) {
                this.port.postMessage(this.block);
                this.block = new Float32Array(this.block.length);
                this.at = 0;
            }
        }
        return !this.isOver;
    }
}

registerProcessor("pegwise-out", Out);
registerProcessor("pegwise-in", In);
