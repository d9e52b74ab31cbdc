from django.contrib.auth.views import LogoutView
from django.urls import path

from orders.views import catalogue, customers, lines, order, orders, people, start

urlpatterns = [
    path("", start.start, name="start"),
    path("sign-in/", start.SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("orders/", orders.orders, name="orders"),
    path("orders/new/", order.order_new, name="order-new"),
    path("orders/<int:number>/", order.order, name="order"),
    path("orders/<int:number>/edit/", order.order_edit, name="order-edit"),
    path("orders/<int:number>/confirm/", order.order_confirm, name="order-confirm"),
    path("orders/<int:number>/cancel/", order.order_cancel, name="order-cancel"),
    path("orders/<int:number>/collected/", order.order_collected, name="order-collected"),
    path("orders/<int:number>/delivered/", order.order_delivered, name="order-delivered"),
    path("orders/<int:number>/lines/new/", lines.line_new, name="line-new"),
    path("orders/<int:number>/lines/<int:position>/", lines.line, name="line"),
    path("orders/<int:number>/lines/<int:position>/remove/", lines.line_remove, name="line-remove"),
    path("customers/", customers.customers, name="customers"),
    path("customers/new/", customers.customer_new, name="customer-new"),
    path("customers/found/", customers.customers_found, name="customers-found"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/edit/", customers.customer_edit, name="customer-edit"),
    path("catalogue/", catalogue.catalogue, name="catalogue"),
    path("people/", people.people, name="people"),
    path("people/new/", people.person_new, name="person-new"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/password/", people.person_password, name="person-password"),
]
