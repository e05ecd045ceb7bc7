"""The parts of the generator for the benches; see shop/demo/generator.py."""
