// A field onto which files are dropped. Each goes to `url` + name as it is, so that the server can count and
// stop it; the browser says how far it is.
export default {
  props: { url: String, words: String, accept: String, most: Number },
  data() {
    return { over: false, sending: [] };
  },
  template: `
    <div class="upload" :class="{ over }" @dragover.prevent="over = true" @dragleave="over = false"
         @drop.prevent="over = false; take($event.dataTransfer.files)">
      <label>
        <span>{{ words }}</span>
        <input type="file" multiple :accept="accept" @change="take($event.target.files); $event.target.value = ''">
      </label>
      <div v-for="one in sending" :key="one.name" class="sending">
        <label>{{ one.name }} <progress :value="one.share" max="1">{{ Math.round(one.share * 100) }} %</progress></label>
        <span>{{ Math.round(one.share * 100) }} %</span>
        <button type="button" class="plain" @click="one.request.abort()">Stop</button>
      </div>
    </div>`,
  methods: {
    async take(files) {
      for (const file of [...files]) {
        if (file.size > this.most) {
          const limit = `${Math.round(this.most / 1048576)} MiB`;
          this.$emit("refused", `${file.name}: it has ${(file.size / 1048576).toFixed(0)} MiB, the limit is ${limit}. Export it coarser.`);
          continue;
        }
        await this.send(file);
      }
    },
    send(file) {
      return new Promise((done) => {
        const request = new XMLHttpRequest();
        this.sending.push({ name: file.name, share: 0, request });
        const one = this.sending[this.sending.length - 1];
        const end = (event, words) => {
          this.sending = this.sending.filter((each) => each.request !== request);
          this.$emit(event, words);
          done();
        };
        request.upload.onprogress = (event) => { one.share = event.total ? event.loaded / event.total : 0; };
        request.onload = () => request.status === 200
          ? end("uploaded", request.responseText)
          : end("refused", request.responseText || `${file.name}: refused with ${request.status}`);
        request.onerror = () => end("refused", `${file.name}: the connection to the bench broke off. Send it again.`);
        request.onabort = () => end("refused", `${file.name}: stopped by you`);
        request.open("POST", this.url + encodeURIComponent(file.name));
        request.setRequestHeader("X-Sagger", "1");
        request.send(file);
      });
    },
  },
};
