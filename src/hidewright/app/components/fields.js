// Fields of a form: native controls, the newest edit wins, a draft stays while it is being typed.
//
// An edit goes out as "edit" {field, text, phase, sent}: phase "move" while a slider is held, "end"
// when it is let go or a value is entered. Until the server has answered it (method "answer"), only
// the newest of the edits that follow is kept; after 400 ms without an answer it goes out anyway.
const PATIENCE_MS = 400;

export default {
  props: {
    groups: { type: Array, default: () => [] },
    errors: { type: Object, default: () => ({}) },
    answered: { type: Number, default: 0 },
    words: { type: Object, default: () => ({}) },
  },
  emits: ["edit"],
  data: () => ({ drafts: {}, held: {} }),
  created() {
    this.sent = 0;
    this.upto = this.answered;
    this.waiting = null;
    this.typing = null;
    this.ranges = {};
    this.settle();
  },
  beforeUnmount() {
    clearTimeout(this.timer);
  },
  watch: {
    answered() {
      this.answer(this.answered);
    },
    groups() {
      this.settle();
      // what the server now says replaces what was entered, but not what is being typed
      for (const field of Object.keys(this.drafts)) {
        if (!this.errors[field] && field !== this.typing) delete this.drafts[field];
      }
    },
  },
  methods: {
    settle() {
      // a slider keeps its range, so that it does not run away under the hand; it moves on when
      // its value has reached an end and it is let go
      for (const field of this.groups.flatMap((group) => group.fields)) {
        const range = this.ranges[field.path];
        const held = field.path in this.held;
        if (!range || (!held && (field.value <= range.low || field.value >= range.high)))
          this.ranges[field.path] = { low: field.low, high: field.high };
      }
    },
    id(field, part) {
      return `f-${part}-${field.path.replace(/[^A-Za-z0-9]+/g, "-")}`;
    },
    word(field) {
      // the longest word of the trade in the label
      const found = Object.keys(this.words).filter((w) => ` ${field.label} `.includes(` ${w} `));
      return found.sort((a, b) => b.length - a.length)[0];
    },
    shown(field) {
      return field.path in this.drafts ? this.drafts[field.path] : field.text;
    },
    slid(field) {
      return field.path in this.held ? this.held[field.path] : field.value;
    },
    written(field, value) {
      const places = field.unit === "in" ? 4 : field.step < 1 ? 2 : 0;
      return `${Number(Number(value).toFixed(places))} ${field.unit}`.trim();
    },
    type(field, event) {
      this.typing = field.path;
      this.drafts[field.path] = event.target.value;
    },
    enter(field, event) {
      const text = event.target.value.trim();
      this.typing = null;
      if (text === field.text && !this.errors[field.path]) {
        delete this.drafts[field.path];
        return;
      }
      this.drafts[field.path] = text;
      this.edit(field.path, text, "end");
    },
    give_up(field, event) {
      this.typing = null;
      delete this.drafts[field.path];
      event.target.value = field.text;
    },
    slide(field, event, phase) {
      this.held[field.path] = Number(event.target.value);
      delete this.drafts[field.path];
      this.edit(field.path, this.written(field, event.target.value), phase);
      if (phase === "end") setTimeout(() => (delete this.held[field.path], this.settle()), 600);
    },
    choose(field, event) {
      this.edit(field.path, event.target.value, "end");
    },
    turn(field, event) {
      this.edit(field.path, event.target.checked ? "true" : "false", "end");
    },
    edit(field, text, phase) {
      const edit = { field, text, phase };
      if (this.upto < this.sent) {
        if (this.waiting && this.waiting.field !== field) this.flush();
        this.waiting = edit;
      } else {
        this.send(edit);
      }
    },
    send(edit) {
      this.sent = Math.max(this.sent, this.upto) + 1;
      this.$emit("edit", { ...edit, sent: this.sent });
      clearTimeout(this.timer);
      this.timer = setTimeout(() => this.flush(), PATIENCE_MS);
    },
    answer(sent) {
      // called by the server for itself, so that a picture need not wait for all fields
      this.upto = Math.max(this.upto, sent);
      if (this.upto >= this.sent) this.flush();
    },
    flush() {
      const edit = this.waiting;
      this.waiting = null;
      if (edit) this.send(edit);
    },
  },
  template: `
    <div class="fields">
      <fieldset v-for="group in groups" :key="group.title" class="group">
        <legend>{{ group.title }}</legend>
        <div v-for="field in group.fields" :key="field.path" class="field"
             :class="{ wrong: errors[field.path] }">
          <template v-if="field.sort === 'switch'">
            <label class="switch" :for="id(field, 'in')">
              <input type="checkbox" :id="id(field, 'in')" :data-field="field.path"
                     :checked="field.text === 'true'" @change="turn(field, $event)"
                     :aria-describedby="id(field, 'says')" />
              <span>{{ field.label }}</span>
            </label>
          </template>
          <template v-else>
            <span class="label"><label :for="id(field, 'in')">{{ field.label }}</label>
              <span v-if="word(field)" class="word">
                <button type="button" :aria-label="'What is: ' + word(field)"
                        :aria-describedby="id(field, 'word')">?</button>
                <span role="tooltip" :id="id(field, 'word')">
                  <strong>{{ word(field) }}</strong>: {{ words[word(field)] }}</span>
              </span></span>
            <select v-if="field.sort === 'choice'" :id="id(field, 'in')" :data-field="field.path"
                    :value="field.text" @change="choose(field, $event)"
                    :aria-describedby="id(field, 'says')">
              <option v-for="[value, words] in field.options" :key="value" :value="value">
                {{ words }}
              </option>
            </select>
            <input v-else type="text" :id="id(field, 'in')" :data-field="field.path"
                   :value="shown(field)" @input="type(field, $event)" @change="enter(field, $event)"
                   @keydown.enter="enter(field, $event)" @keydown.esc="give_up(field, $event)"
                   :class="{ measure: field.sort === 'measure' }" autocomplete="off"
                   spellcheck="false" :aria-invalid="errors[field.path] ? 'true' : null"
                   :aria-describedby="id(field, 'says') + ' ' + id(field, 'wrong')" />
            <input v-if="field.value !== null" type="range" :data-slider="field.path"
                   :min="ranges[field.path].low" :max="ranges[field.path].high" :step="field.step" :value="slid(field)"
                   :aria-label="field.label + ', slider'" :aria-valuetext="field.text"
                   @input="slide(field, $event, 'move')" @change="slide(field, $event, 'end')" />
          </template>
          <p class="says" :id="id(field, 'says')">{{ field.says }}</p>
          <p class="trouble" role="alert" :id="id(field, 'wrong')" v-if="errors[field.path]">
            {{ errors[field.path] }}
          </p>
        </div>
      </fieldset>
    </div>
  `,
};
