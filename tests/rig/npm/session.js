// SPDX-License-Identifier: MIT
// A session with a practising regletd, led by a general-purpose JSON-RPC 2.0 client that knows
// nothing of Reglet: node session.js SOCKET. protocol/LOCAL.md is all that this file was written
// from. Ends with 0 when everything was as that page says.
import assert from 'node:assert/strict';
import net from 'node:net';
import { createInterface } from 'node:readline';
import rpc from 'json-rpc-2.0';

const PATIENCE_MS = 60000;

// One connection: the client's package on top, one JSON text a line below. What comes unasked is
// kept in `told`.
function connect(path) {
    const socket = net.createConnection(path);
    const send = (message) => socket.write(JSON.stringify(message) + '\n');
    const both = new rpc.JSONRPCServerAndClient(
        new rpc.JSONRPCServer(), new rpc.JSONRPCClient(send));
    const told = [];
    for (const method of ['changed', 'position']) {
        both.addMethod(method, (params) => { told.push({ method, params }); });
    }
    const ended = new Promise((resolve) => { socket.on('close', resolve); });
    socket.on('error', (error) => { throw error; });
    createInterface({ input: socket }).on('line', (line) => both.receiveAndSend(JSON.parse(line)));
    const patient = both.timeout(PATIENCE_MS);
    return {
        told,
        ended,
        request: (method, params) => patient.request(method, params),
        batch: (requests) => patient.requestAdvanced(requests),
        notify: (method, params) => both.notify(method, params),
        close: () => socket.end(),
    };
}

// The package rejects with what the daemon's error object held.
async function refused(promise, code, reason) {
    const error = await promise.then(() => null, (why) => why);
    assert.notEqual(error, null, `it was not refused with ${code}`);
    assert.equal(error.code, code, error.message);
    assert.match(error.message, code === 1 ? /^[A-Z].*\.$/ : /./);
    assert.equal(error.data?.reason, reason);
    return error;
}

async function greet(client) {
    const hello = await client.request('hello', { client: 'npm-session' });
    assert.equal(hello.major, 1);
    assert.equal(hello.practice, true);
    assert.equal(hello.may, 'command');
    assert.deepEqual(await client.request('hello', ['by-position']), hello);
    const status = await client.request('status');
    assert.equal(status.practice, true);
    assert.equal(status.table_zero, 'lost');
    assert.equal('height' in status, false);
}

async function errors(client) {
    await refused(client.request('no-such-method'), -32601, undefined);
    await refused(client.request('to', { height: '3/8in', unknown: 1 }), -32602, undefined);
    await refused(client.request('to', {}), -32602, undefined);
    await refused(client.request('to', { height: 'three' }), -32602, undefined);
    await refused(client.request('to', { height: '3/8in' }), 1, 'height-unknown');
    await refused(client.request('forget', { name: 'nothing' }), 1, 'no-such-preset');
    await refused(client.request('renew', { token: 'none' }), 1, 'hold-over');
}

async function touchOff(client) {
    await client.request('by', { distance: '-2mm' });
    await client.request('by', { distance: '2mm' });
    const status = await client.request('touch', { height: '0in' });
    assert.equal(status.table_zero, 'sure');
    assert.equal(status.height_nm, 0);
    assert.equal(status.height, '0mm');
}

async function batches(client) {
    const answers = await client.batch([
        rpc.createJSONRPCRequest('a', 'hello'),
        rpc.createJSONRPCRequest(1001, 'to', { height: '1/8in' }),
        rpc.createJSONRPCRequest('c', 'no-such-method'),
        rpc.createJSONRPCNotification('hello', { client: 'renamed' }),
        rpc.createJSONRPCRequest(1002, 'presets'),
    ]);
    assert.deepEqual(answers.map((answer) => answer.id), ['a', 1001, 'c', 1002]);
    assert.deepEqual(answers.map((answer) => answer.error?.code), [undefined, undefined, -32601,
        undefined]);
    assert.equal(answers[1].result.height_nm, 3175000);
    assert.deepEqual(answers[3].result.presets, []);
}

async function presets(client) {
    const name = 'drawer-groove';
    const kept = await client.request('keep', { name, height: '1/4in' });
    assert.equal(kept.presets.length, 1);
    assert.equal(kept.presets[0].name, name);
    assert.equal(kept.presets[0].height_nm, 6350000);
    await refused(client.request('keep', { name, height_nm: 1 }), 1, 'name-taken');
    assert.deepEqual((await client.request('presets')).presets, kept.presets);
    const status = await client.request('recall', { name });
    assert.equal(status.height_nm, 6350000);
    assert.equal(status.preset, name);
    assert.equal((await client.request('forget', { name })).forgotten, name);
    assert.deepEqual((await client.request('presets')).presets, []);
}

// True when the move was stopped; on a machine that stalls it may be over before.
async function stopMove(client, watcher, height) {
    const move = client.request('to', { height }).then(() => null, (why) => why);
    await client.request('status'); // answered after the move was taken up
    const nudge = await watcher.request('by', { distance: '1mm' }).then(() => null, (why) => why);
    client.notify('by', { distance: '1mm' }); // a motion without an id is not carried out
    const status = await watcher.request('stop');
    assert.equal(status.activity, 'still');
    const stopped = await move;
    if (stopped === null) {
        return false;
    }
    assert.equal(stopped.code, 1);
    assert.equal(stopped.data.reason, 'stopped');
    assert.equal(stopped.data.height_nm, status.height_nm);
    assert.equal(nudge.code, 1);
    assert.equal(nudge.data.reason, 'busy');
    return true;
}

// A watcher hears of a move that another connection asks for, cannot move meanwhile, and stops it.
async function watchAndStop(client, path) {
    const watcher = connect(path);
    assert.equal((await watcher.request('watch')).activity, 'still');
    let tries = 0;
    while (!(await stopMove(client, watcher, tries % 2 === 0 ? '1in' : '0in'))) {
        tries += 1;
        assert.ok(tries < 10, 'no move was stopped in its middle');
    }
    await watcher.request('hello');
    const changes = watcher.told.filter((one) => one.method === 'changed');
    assert.ok(changes.length >= 2);
    assert.equal(changes[0].params.activity, 'moving');
    assert.equal(changes[0].params.in_charge, 'renamed');
    assert.equal(changes.at(-1).params.activity, 'still');
    watcher.close();
    await watcher.ended;
}

// Twenty heights, there and back; each is said exactly as it was asked for.
async function heights(client) {
    for (let i = 0; i < 10; i++) {
        for (const height_nm of [6000000 + 10000 * i, 6500000]) {
            const status = await client.request('to', { height_nm });
            assert.equal(status.height_nm % 1250, 0); // whole steps of the practice lift
            assert.ok(Math.abs(status.height_nm - height_nm) <= 625);
            assert.equal(Math.round(Number.parseFloat(status.height) * 1e6), status.height_nm);
            assert.equal(status.play, 'taken-up');
        }
    }
}

const path = process.argv[2];
const client = connect(path);
for (const part of [greet, errors, touchOff, batches, presets, watchAndStop, heights]) {
    await part(client, path);
    console.log(`${part.name}: as the page says`);
}
client.close();
await client.ended;
