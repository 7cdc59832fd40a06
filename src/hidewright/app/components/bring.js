// A file that is brought: chosen with the keyboard or mouse, or dropped; sent to this server only.
export default {
  props: { to: String, largest: Number, accept: String },
  emits: ["brought"],
  data: () => ({ over: false, busy: false, trouble: "" }),
  methods: {
    drop(event) {
      this.over = false;
      this.send(event.dataTransfer.files[0]);
    },
    async send(file) {
      if (!file || this.busy) return;
      this.trouble = "";
      if (file.size > this.largest) {
        this.trouble = `${file.name} has ${(file.size / 1e6).toFixed(1)} MB; at most ${this.largest / 1e6} MB are read.`;
        return;
      }
      this.busy = true;
      try {
        const answer = await fetch(this.to, {
          method: "POST",
          headers: { "content-type": "application/octet-stream", "x-file-name": encodeURIComponent(file.name) },
          body: file,
        });
        const told = await answer.json();
        if (answer.ok) this.$emit("brought", told.token);
        else this.trouble = told.trouble;
      } catch {
        this.trouble = "The server did not answer. Is it still running?";
      } finally {
        this.busy = false;
      }
    },
  },
  template: `
    <div class="bring" :class="{ over }" @dragover.prevent="over = true" @dragleave="over = false"
         @drop.prevent="drop">
      <label for="bring-file">Choose a file, or drop it here</label>
      <input id="bring-file" type="file" :accept="accept" @change="send($event.target.files[0])" />
      <p role="status">{{ busy ? "Reading ..." : "" }}</p>
      <p class="trouble" role="alert" v-if="trouble">{{ trouble }}</p>
    </div>
  `,
};
