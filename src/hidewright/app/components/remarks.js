// Remarks on a design: what, where, by how much, and a button for each change that would mend it.
export default {
  props: {
    remarks: { type: Array, default: () => [] },
    state: { type: String, default: "" },
  },
  emits: ["mend"],
  methods: {
    sign: (severity) => ({ forbids: "Must not be made so", warning: "Take care", note: "Note" })[severity],
  },
  computed: {
    parts() {
      const all = this.remarks.map((remark, at) => ({ ...remark, at }));
      return [all.filter((r) => r.severity !== "note"), all.filter((r) => r.severity === "note")];
    },
  },
  template: `
    <div class="remarks">
      <p class="state" role="status" aria-live="polite">{{ state }}</p>
      <template v-for="(part, n) in parts" :key="n">
      <component v-if="part.length" :is="n ? 'details' : 'div'">
        <summary v-if="n">{{ part.length }} {{ part.length === 1 ? "note" : "notes" }} for the bench</summary>
        <ul>
          <li v-for="remark in part" :key="remark.code + remark.place + remark.at"
              :class="'remark ' + remark.severity" :data-place="remark.place" tabindex="-1">
            <p class="sign"><span class="mark" aria-hidden="true"></span>
              <strong>{{ sign(remark.severity) }}</strong>
              <span class="place" v-if="remark.place">{{ remark.place.replace('/', ', ') }}</span></p>
            <p class="sentence">{{ remark.sentence }}</p>
            <p class="remedies" v-if="remark.remedies.length">
              <button v-for="(remedy, j) in remark.remedies" :key="remedy.label" type="button"
                      class="remedy" @click="$emit('mend', { remark: remark.at, remedy: j })">
                {{ remedy.label }}
              </button>
            </p>
          </li>
        </ul>
      </component></template>
    </div>
  `,
};
