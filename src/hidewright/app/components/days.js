// The days of a plan: what each pair of hands does when, ticked off, dragged or sent to another day.
export default {
  props: {
    days: { type: Array, default: () => [] },
    choices: { type: Array, default: () => [] },
  },
  emits: ["tick", "move"],
  data: () => ({ turned: {}, moving: "", over: -1 }),
  methods: {
    open(day) {
      return this.turned[day.day] ?? day.open;
    },
    id(row) {
      return `d-${row.key}-${row.part}`.replace(/[^A-Za-z0-9]+/g, "-");
    },
    tick(row, state) {
      this.$emit("tick", { key: row.key, state });
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
      await this.$nextTick();
      document.getElementById(`${this.id(row)}-to`)?.focus();
    },
  },
  template: `
    <div class="batch-days">
      <details v-for="day in days" :key="day.day" class="batch-day" :open="open(day)"
               :class="{ over: over === day.day, gone: day.gone }"
               @toggle="turned[day.day] = $event.target.open"
               @dragover="day.gone || ($event.preventDefault(), over = day.day)"
               @dragleave="over = -1" @drop.prevent="drop($event, day.day)">
        <summary><span class="batch-date">{{ day.title }}</span> <span>{{ day.told }}</span></summary>
        <section v-for="one in day.people" :key="one.name" :aria-label="one.name + ', ' + day.title">
          <h3 v-if="one.title">{{ one.title }}</h3>
          <ul>
            <li v-for="row in one.rows" :key="row.key + row.part" class="batch-row" :class="row.state"
                :draggable="row.state === 'planned'"
                @dragstart="$event.dataTransfer.setData('text/x-task', row.key)">
              <input type="checkbox" :id="id(row)" :checked="row.state === 'done'"
                     @change="tick(row, $event.target.checked ? 'done' : 'planned')" />
              <label :for="id(row)"><span class="batch-time">{{ row.from }}-{{ row.to }}</span>
                <span class="batch-what">{{ row.words }}</span></label>
              <span class="batch-load">{{ row.load }}</span>
              <span v-if="row.then" class="batch-then">{{ row.then }}</span>
              <span class="batch-do" v-if="row.state !== 'done'">
                <button type="button" class="quiet" :aria-pressed="row.state === 'started'"
                        :aria-label="'Started: ' + row.words + ', ' + row.from"
                        @click="tick(row, row.state === 'started' ? 'planned' : 'started')">
                  {{ row.state === "started" ? "in hand" : "start" }}</button>
                <button v-if="row.state === 'planned'" type="button" class="quiet"
                        :aria-expanded="moving === id(row)"
                        :aria-label="'Move to another day: ' + row.words + ', ' + row.from"
                        @click="choose(row)">move</button>
                <span v-if="moving === id(row)" class="batch-to">
                  <label :for="id(row) + '-to'">to day</label>
                  <select :id="id(row) + '-to'" @change="move(row.key, $event.target.value)"
                          @keydown.esc="moving = ''">
                    <option value="">choose</option>
                    <option v-for="one in choices" :key="one.day" :value="one.day">{{ one.title }}</option>
                  </select>
                </span>
              </span>
            </li>
          </ul>
        </section>
      </details>
    </div>`,
};
