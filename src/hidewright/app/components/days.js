// The days of a plan: what each pair of hands does when, ticked off, dragged or sent to another day.
export default {
  props: {
    days: { type: Array, default: () => [] },
    choices: { type: Array, default: () => [] },
    answered: { type: Number, default: 0 },
  },
  emits: ["tick", "move"],
  // what was ticked is shown so at once, until the server has answered it
  data: () => ({ turned: {}, moving: "", to: "", over: -1, ticked: {}, sent: 0 }),
  computed: {
    // the rows of closed days are there too, for a search in the page, unless they would slow it
    few() {
      return this.days.flatMap((day) => day.people).reduce((sum, one) => sum + one.rows.length, 0) <= 1500;
    },
  },
  watch: {
    answered() {
      for (const [key, one] of Object.entries(this.ticked))
        if (one.sent <= this.answered) delete this.ticked[key];
    },
  },
  methods: {
    state(row) {
      return this.ticked[row.key]?.state ?? row.state;
    },
    open(day) {
      return this.turned[day.day] ?? day.open;
    },
    id(row) {
      return `d-${row.key}-${row.part}`.replace(/[^A-Za-z0-9]+/g, "-");
    },
    tick(row, state) {
      this.sent += 1;
      this.ticked[row.key] = { state, sent: this.sent };
      this.$emit("tick", { key: row.key, state, sent: this.sent });
    },
    move(key, day) {
      this.moving = "";
      if (day !== "") this.$emit("move", { key, day: Number(day) });
    },
    drop(event, day) {
      this.over = -1;
      const key = event.dataTransfer.getData("text/x-task");
      if (key) this.move(key, day);
    },
    async choose(row) {
      this.moving = this.moving === this.id(row) ? "" : this.id(row);
      this.to = "";
      await this.$nextTick();
      document.getElementById(`${this.id(row)}-to`)?.focus();
    },
  },
  template: `
    <div class="batch-days">
      <details v-for="day in days" :key="day.day" class="batch-day" :id="'day-' + day.day" :open="open(day)"
               :class="{ over: over === day.day, gone: day.gone }"
               @toggle="turned[day.day] = $event.target.open"
               @dragover="day.gone || ($event.preventDefault(), over = day.day)"
               @dragleave="over = -1" @drop.prevent="drop($event, day.day)">
        <summary><span class="batch-date">{{ day.title }}</span> <span>{{ day.told }}</span></summary>
        <section v-for="one in few || open(day) ? day.people : []" :key="one.name" :aria-label="one.name + ', ' + day.title">
          <h3 v-if="one.title">{{ one.title }}</h3>
          <ul>
            <li v-for="row in one.rows" :key="row.key + row.part" class="batch-row" :class="state(row)"
                :draggable="state(row) === 'planned'"
                @dragstart="$event.dataTransfer.setData('text/x-task', row.key)">
              <input type="checkbox" :id="id(row)" :checked="state(row) === 'done'"
                     @change="tick(row, $event.target.checked ? 'done' : 'planned')" />
              <label :for="id(row)"><span class="batch-time">{{ row.from }}-{{ row.to }}</span>
                <span class="batch-what">{{ row.words }}</span></label>
              <span class="batch-load">{{ row.load }}</span>
              <span v-if="row.then" class="batch-then">{{ row.then }}</span>
              <span class="batch-do" v-if="state(row) !== 'done'">
                <button type="button" class="quiet" :aria-pressed="state(row) === 'started'"
                        :aria-label="'Started: ' + row.words + ', ' + row.from"
                        @click="tick(row, state(row) === 'started' ? 'planned' : 'started')">
                  {{ state(row) === "started" ? "in hand" : "start" }}</button>
                <button v-if="state(row) === 'planned'" type="button" class="quiet"
                        :aria-expanded="moving === id(row)"
                        :aria-label="'Move to another day: ' + row.words + ', ' + row.from"
                        @click="choose(row)">move</button>
                <span v-if="moving === id(row)" class="batch-to">
                  <label :for="id(row) + '-to'">to day</label>
                  <select :id="id(row) + '-to'" v-model="to" @keydown.esc="moving = ''">
                    <option value="">choose</option>
                    <option v-for="one in choices" :key="one.day" :value="one.day">{{ one.title }}</option>
                  </select>
                  <button type="button" class="quiet" @click="move(row.key, to)">move it</button>
                </span>
              </span>
            </li>
          </ul>
        </section>
      </details>
    </div>`,
};
