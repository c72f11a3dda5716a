export default function beforeAll() {}
