"""Lists the services through server reflection with a client that we did not write.

Usage: reflection.py ADDRESS. Prints one service a line.
"""
import sys

import grpc
from google.protobuf.descriptor_pool import DescriptorPool
from grpc_reflection.v1alpha.proto_reflection_descriptor_database import ProtoReflectionDescriptorDatabase

channel = grpc.insecure_channel(sys.argv[1])
database = ProtoReflectionDescriptorDatabase(channel)
pool = DescriptorPool(database)
for name in sorted(database.get_services()):
    methods = pool.FindServiceByName(name).methods if name.startswith("fettlebook.") else []
    print(name, *(method.name for method in methods))
