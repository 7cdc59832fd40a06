// Remarks on a design: what, where, by how much, and a button for each change that would mend it.
export default {
  props: {
    remarks: { type: Array, default: () => [] },
    state: { type: String, default: "" },
  },
  emits: ["mend", "point"],
  methods: {
    sign: (severity) => ({ forbids: "Must not be made so", warning: "Take care", note: "Note" })[severity],
  },
  template: `
    <div class="remarks">
      <p class="state" role="status" aria-live="polite">{{ state }}</p>
      <ul>
        <li v-for="(remark, i) in remarks" :key="remark.code + remark.place + i"
            :class="'remark ' + remark.severity">
          <p class="sign"><span class="mark" aria-hidden="true"></span>
            <strong>{{ sign(remark.severity) }}</strong>
            <span class="place" v-if="remark.place">{{ remark.place.replace('/', ', ') }}</span></p>
          <p class="sentence">{{ remark.sentence }}</p>
          <p class="remedies" v-if="remark.remedies.length">
            <button v-for="(remedy, j) in remark.remedies" :key="remedy.label" type="button"
                    class="remedy" @click="$emit('mend', { remark: i, remedy: j })">
              {{ remedy.label }}
            </button>
          </p>
        </li>
      </ul>
    </div>
  `,
};
